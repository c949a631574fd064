package report

import (
	"fmt"
	"strings"
	"time"
)

// repeat writes one line a day from a date on; the line holds one %s for the
// time and one %d for the number.
func repeat(n int, from, line string) string {
	t, _ := time.Parse(time.RFC3339, from)
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, line+"\n", t.AddDate(0, 0, i).Format(time.RFC3339), i)
	}
	return b.String()
}

var tenPartCharges = repeat(10, "2024-02-01T20:00:00Z", `{"record":"charge","pack":"heron-a","at":"%s","id":"part-%d","full":false}`)

const stopWalk = `{"record":"service","id":"it","pack":"heron-a","kind":"%s","at":"2024-02-10T08:00:00Z"}
{"record":"service","id":"looked","pack":"heron-a","kind":"inspection","at":"2024-02-12T08:00:00Z"}
{"record":"service","id":"no","pack":"heron-a","kind":"inspection","passed":false,"at":"2024-02-14T08:00:00Z"}
{"record":"service","id":"board","board":"heron","kind":"inspection","passed":true,"at":"2024-02-16T08:00:00Z"}
{"record":"service","id":"yes","pack":"heron-a","kind":"inspection","passed":true,"at":"2024-02-29T08:00:00Z"}
`

// stopSteps: an inspection without an outcome, one that failed and one of the
// board do not end a stop of the pack.
var stopSteps = []step{
	{"2024-02-10T07:59:59Z", "", 0},
	{"2024-02-10T08:00:00Z", "2024-02-10", 0},
	{"2024-02-13T08:00:00Z", "2024-02-10", 3},
	{"2024-02-15T08:00:00Z", "2024-02-10", 5},
	{"2024-02-28T23:00:00Z", "2024-02-10", 18},
	{"2024-02-29T08:00:00Z", "", 0},
}

func cutoff(id, at, more string) string {
	return fmt.Sprintf(`{"record":"ride","id":%q,"pack":"heron-a","board":"heron","at":%q,"stop":"cutoff"%s}`+"\n", id, at, more)
}

func inspection(at string) string {
	return fmt.Sprintf(`{"record":"service","pack":"heron-a","kind":"inspection","passed":true,"at":%q}`+"\n", at)
}

func charge(id, at, more string) string {
	return fmt.Sprintf(`{"record":"charge","id":%q,"pack":"heron-a","at":%q%s}`+"\n", id, at, more)
}

func groups(id, at, volts string) string {
	return fmt.Sprintf(`{"record":"check","id":%q,"pack":"heron-a","at":%q,"group_v":[%s]}`+"\n", id, at, volts)
}

var lfpPack = strings.Replace(duePack, `"nmc"`, `"lfp"`, 1)

var dueWalks = []walk{
	{"impact_unchecked", "until an inspection passes", duePack + fmt.Sprintf(stopWalk, "impact"), stopSteps, []string{"it"}},
	{"water_unchecked", "until an inspection passes", duePack + fmt.Sprintf(stopWalk, "water"), stopSteps, []string{"it"}},
	{"warning_sign_unchecked", "until an inspection passes", duePack + fmt.Sprintf(stopWalk, "warning_sign"), stopSteps, []string{"it"}},
	{"impact_unchecked", "passed in the same minute", duePack + `{"record":"service","id":"it","pack":"heron-a","kind":"impact","at":"2024-02-10T08:00:00Z"}
` + inspection("2024-02-10T08:00:00Z"), []step{{"2024-02-11T08:00:00Z", "", 0}}, nil},
	{"impact_unchecked", "new cells do not end it", duePack + `{"record":"service","id":"it","pack":"heron-a","kind":"impact","at":"2024-02-10T08:00:00Z"}
{"record":"service","id":"cells","pack":"heron-a","kind":"cells_replaced","at":"2024-02-20T08:00:00Z"}
`, []step{{"2024-03-01T08:00:00Z", "2024-02-10", 20}}, nil},
	{"impact_unchecked", "of the board that it was in", duePack + `{"record":"ride","id":"out","pack":"heron-a","at":"2024-02-10T07:00:00Z"}
{"record":"service","id":"it","board":"heron","kind":"impact","at":"2024-02-10T08:00:00Z"}
{"record":"service","id":"ok","board":"heron","kind":"inspection","passed":true,"at":"2024-02-12T08:00:00Z"}
`, []step{{"2024-02-11T08:00:00Z", "2024-02-10", 1}, {"2024-02-12T08:00:00Z", "", 0}}, []string{"it"}},
	{"impact_unchecked", "of the board while another pack was in it", duePack + `{"record":"pack","id":"heron-b","board":"heron"}
{"record":"ride","id":"out","pack":"heron-b","at":"2024-02-10T07:00:00Z"}
{"record":"service","id":"it","board":"heron","kind":"impact","at":"2024-02-10T08:00:00Z"}
`, []step{{"2024-02-11T08:00:00Z", "", 0}}, nil},
	{"impact_unchecked", "of the board, nobody knows with which pack", duePack + `{"record":"service","id":"it","board":"heron","kind":"impact","at":"2024-02-10T08:00:00Z"}
`, []step{{"2024-02-11T08:00:00Z", "2024-02-10", 1}}, nil},

	{"protection_opened_low", "once", duePack + cutoff("open", "2024-02-10T08:00:00Z", `,"end_rest_v":32`) + inspection("2024-02-20T08:00:00Z"),
		[]step{{"2024-02-10T07:59:00Z", "", 0}, {"2024-02-10T08:00:00Z", "2024-02-10", 0}, {"2024-02-19T08:00:00Z", "2024-02-10", 9}, {"2024-02-20T08:00:00Z", "", 0}}, []string{"open"}},
	{"protection_opened_low", "at a charge that nobody knows", duePack + cutoff("open", "2024-02-10T08:00:00Z", ""), []step{{"2024-02-11T08:00:00Z", "2024-02-10", 1}}, nil},
	{"protection_opened_low", "in an earlier life", duePack + cutoff("open", "2024-02-10T08:00:00Z", "") + `{"record":"service","id":"cells","pack":"heron-a","kind":"cells_replaced","at":"2024-02-20T08:00:00Z"}
`, []step{{"2024-02-21T08:00:00Z", "", 0}}, nil},
	{"protection_opened_again", "twice", duePack + cutoff("one", "2024-02-10T08:00:00Z", "") + cutoff("two", "2024-03-10T08:00:00Z", "") + inspection("2024-03-20T08:00:00Z") + cutoff("three", "2024-04-10T08:00:00Z", ""),
		[]step{{"2024-02-11T08:00:00Z", "", 0}, {"2024-03-10T09:00:00Z", "2024-03-10", 0}, {"2024-03-20T08:00:00Z", "", 0}, {"2024-04-11T08:00:00Z", "", 0}}, []string{"one", "two"}},
	{"protection_opened_again", "once in each life", duePack + cutoff("one", "2024-02-10T08:00:00Z", "") + `{"record":"service","id":"cells","pack":"heron-a","kind":"cells_replaced","at":"2024-02-20T08:00:00Z"}
` + cutoff("two", "2024-03-10T08:00:00Z", ""), []step{{"2024-03-11T08:00:00Z", "", 0}}, nil},
	{"protection_opened_mid_charge", "by the volts", duePack + cutoff("open", "2024-02-10T08:00:00Z", `,"end_rest_v":37.5`) + inspection("2024-02-20T08:00:00Z"),
		[]step{{"2024-02-11T08:00:00Z", "2024-02-10", 1}, {"2024-02-20T08:00:00Z", "", 0}}, []string{"open"}},
	{"protection_opened_mid_charge", "by the Ah of a rated pack, far from empty", duePack + charge("top", "2024-02-09T08:00:00Z", `,"full":true`) + cutoff("open", "2024-02-10T08:00:00Z", `,"discharged_ah":3`),
		[]step{{"2024-02-11T08:00:00Z", "2024-02-10", 1}}, nil},
	{"protection_opened_mid_charge", "the Ah of a rated pack leave room for low", duePack + charge("top", "2024-02-09T08:00:00Z", `,"full":true`) + cutoff("open", "2024-02-10T08:00:00Z", `,"discharged_ah":6`),
		[]step{{"2024-02-11T08:00:00Z", "", 0}}, nil},
	{"protection_opened_mid_charge", "lfp volts of the plateau tell nothing", lfpPack + cutoff("open", "2024-02-10T08:00:00Z", `,"end_rest_v":32.6`),
		[]step{{"2024-02-11T08:00:00Z", "", 0}}, nil},

	{"inspection_failed", "until one passes", duePack + `{"record":"service","id":"no","pack":"heron-a","kind":"inspection","passed":false,"at":"2024-02-10T08:00:00Z"}
{"record":"service","id":"mend","pack":"heron-a","kind":"repair","at":"2024-02-12T08:00:00Z"}
` + inspection("2024-02-20T08:00:00Z"),
		[]step{{"2024-02-10T07:00:00Z", "", 0}, {"2024-02-11T08:00:00Z", "2024-02-10", 1}, {"2024-02-13T08:00:00Z", "2024-02-10", 3}, {"2024-02-20T08:00:00Z", "", 0}}, []string{"no"}},
	{"inspection_failed", "new cells begin a new life", duePack + `{"record":"service","id":"no","pack":"heron-a","kind":"inspection","passed":false,"at":"2024-02-10T08:00:00Z"}
{"record":"service","id":"cells","pack":"heron-a","kind":"cells_replaced","at":"2024-02-12T08:00:00Z"}
`, []step{{"2024-02-13T08:00:00Z", "", 0}}, nil},
	{"cells_worked_on", "after a repair", duePack + `{"record":"service","id":"mend","pack":"heron-a","kind":"repair","passed":true,"at":"2024-02-28T23:00:00Z"}
{"record":"service","id":"looked","pack":"heron-a","kind":"inspection","at":"2024-03-01T08:00:00Z"}
`, []step{{"2024-02-28T22:00:00Z", "", 0}, {"2024-02-29T22:00:00Z", "2024-02-28", 1}, {"2024-03-01T08:00:00Z", "", 0}}, []string{"mend"}},
	{"cells_worked_on", "not after one of the board", duePack + `{"record":"service","id":"mend","board":"heron","kind":"repair","at":"2024-02-28T23:00:00Z"}
`, []step{{"2024-03-01T08:00:00Z", "", 0}}, nil},

	{"charge_too_cold", "the pack at 0 °C is not too cold", duePack + charge("zero", "2024-02-01T20:00:00Z", `,"pack_c":0,"ambient_c":-10`) + charge("frost", "2024-02-03T20:00:00Z", `,"pack_c":-0.5`) + charge("more", "2024-02-05T20:00:00Z", `,"pack_c":-3`) + inspection("2024-02-09T08:00:00Z"),
		[]step{{"2024-02-02T20:00:00Z", "", 0}, {"2024-02-04T20:00:00Z", "2024-02-03", 1}, {"2024-02-06T20:00:00Z", "2024-02-03", 3}, {"2024-02-09T08:00:00Z", "", 0}}, []string{"frost"}},
	{"charge_too_cold", "by the air, for ninety days", duePack + charge("frost", "2023-12-01T20:00:00Z", `,"ambient_c":-4`),
		[]step{{"2023-12-02T20:00:00Z", "2023-12-01", 1}, {"2024-02-29T19:59:00Z", "2023-12-01", 90}, {"2024-02-29T20:00:00Z", "", 0}}, []string{"frost"}},
	{"charge_too_hot", "45 °C is the limit itself", duePack + charge("warm", "2024-07-01T20:00:00Z", `,"pack_c":45,"ambient_c":30`) + charge("hot", "2024-07-03T20:00:00Z", `,"pack_c":45.5,"ambient_c":30`) + inspection("2024-07-09T08:00:00Z"),
		[]step{{"2024-07-02T20:00:00Z", "", 0}, {"2024-07-04T20:00:00Z", "2024-07-03", 1}, {"2024-07-09T08:00:00Z", "", 0}}, []string{"hot"}},
	{"charge_too_hot", "far above the air", duePack + charge("warm", "2024-07-01T20:00:00Z", `,"pack_c":38,"ambient_c":18`) + charge("hot", "2024-07-03T20:00:00Z", `,"pack_c":38.5,"ambient_c":18`),
		[]step{{"2024-07-02T20:00:00Z", "", 0}, {"2024-07-04T20:00:00Z", "2024-07-03", 1}}, []string{"hot"}},

	{"charge_ended_early", "by the volts, until two end well", duePack + charge("well", "2024-02-01T20:00:00Z", `,"full":true,"end_rest_v":41.2`) + charge("early", "2024-02-05T20:00:00Z", `,"full":true,"end_rest_v":40.9`) +
		charge("part", "2024-02-06T20:00:00Z", `,"full":false,"end_rest_v":38`) + charge("ok1", "2024-02-08T20:00:00Z", `,"full":true,"end_rest_v":41.7`) + charge("ok2", "2024-02-10T20:00:00Z", `,"full":true,"end_rest_v":41.7`),
		[]step{{"2024-02-02T20:00:00Z", "", 0}, {"2024-02-06T21:00:00Z", "2024-02-05", 1}, {"2024-02-09T20:00:00Z", "2024-02-05", 4}, {"2024-02-10T20:00:00Z", "", 0}}, []string{"early"}},
	{"charge_ended_early", "by the Ah, until an inspection", duePack + charge("well", "2024-02-01T20:00:00Z", `,"full":true`) + `{"record":"ride","id":"out","pack":"heron-a","at":"2024-02-02T10:00:00Z","discharged_ah":8}
` + charge("early", "2024-02-03T20:00:00Z", `,"full":true,"charged_ah":5.9`) + inspection("2024-02-05T08:00:00Z"),
		[]step{{"2024-02-03T19:00:00Z", "", 0}, {"2024-02-04T20:00:00Z", "2024-02-03", 1}, {"2024-02-05T08:00:00Z", "", 0}}, []string{"early"}},
	{"charge_ended_early", "three quarters is enough", duePack + charge("well", "2024-02-01T20:00:00Z", `,"full":true`) + `{"record":"ride","id":"out","pack":"heron-a","at":"2024-02-02T10:00:00Z","discharged_ah":8}
` + charge("ok", "2024-02-03T20:00:00Z", `,"full":true,"charged_ah":6`), []step{{"2024-02-04T20:00:00Z", "", 0}}, nil},
	{"charge_ended_early", "a lower full voltage set up before", duePack + `{"record":"setup","pack":"heron-a","at":"2024-01-01T00:00:00Z","cell_full_v":4.1}
` + charge("ok", "2024-02-03T20:00:00Z", `,"full":true,"end_rest_v":40.5`), []step{{"2024-02-04T20:00:00Z", "", 0}}, nil},

	{"stored_too_low", "after a storage", duePack + `{"record":"ride","id":"last","pack":"heron-a","at":"2024-01-01T10:00:00Z"}
{"record":"service","id":"away","pack":"heron-a","kind":"storage","at":"2024-01-02T10:00:00Z"}
` + charge("back", "2024-01-09T20:00:00Z", `,"start_rest_v":29.9`) + inspection("2024-02-05T08:00:00Z"),
		[]step{{"2024-01-09T19:00:00Z", "", 0}, {"2024-01-10T20:00:00Z", "2024-01-09", 1}, {"2024-02-05T08:00:00Z", "", 0}}, []string{"back"}},
	{"stored_too_low", "after two weeks at rest, one group", duePack + `{"record":"ride","id":"last","pack":"heron-a","at":"2024-02-14T10:00:00Z"}
` + groups("seen", "2024-02-28T10:00:00Z", "3.4,3.4,3.4,3.4,3.4,2.9,3.4,3.4,3.4,3.4"), []step{{"2024-02-29T10:00:00Z", "2024-02-28", 1}}, []string{"seen"}},
	{"stored_too_low", "a day is no storage", duePack + `{"record":"ride","id":"last","pack":"heron-a","at":"2024-02-27T10:00:00Z"}
` + charge("back", "2024-02-28T10:00:00Z", `,"start_rest_v":29.9`), []step{{"2024-02-29T10:00:00Z", "", 0}}, nil},
	{"stored_too_low", "the safe volts themselves are safe", duePack + `{"record":"ride","id":"last","pack":"heron-a","at":"2024-01-27T10:00:00Z"}
` + charge("back", "2024-02-28T10:00:00Z", `,"start_rest_v":30`), []step{{"2024-02-29T10:00:00Z", "", 0}}, nil},

	{"group_weak", "100 mV apart", duePack + groups("near", "2024-02-01T10:00:00Z", "3.700,3.700,3.601") + groups("far", "2024-02-05T10:00:00Z", "3.700,3.700,3.600") + inspection("2024-02-09T08:00:00Z") + groups("same", "2024-02-12T10:00:00Z", "3.700,3.700,3.590") + groups("worse", "2024-03-12T10:00:00Z", "3.700,3.700,3.560"),
		[]step{{"2024-02-02T10:00:00Z", "", 0}, {"2024-02-06T10:00:00Z", "2024-02-05", 1}, {"2024-02-09T08:00:00Z", "", 0}, {"2024-02-13T10:00:00Z", "", 0}, {"2024-03-13T10:00:00Z", "2024-03-12", 1}}, nil},
	{"group_weak", "a later reading takes it back", duePack + charge("far", "2024-02-05T10:00:00Z", `,"cell_spread_mv":120`) + charge("near", "2024-02-07T10:00:00Z", `,"cell_spread_mv":15`),
		[]step{{"2024-02-06T10:00:00Z", "2024-02-05", 1}, {"2024-02-08T10:00:00Z", "", 0}}, nil},
	{"group_weak", "50 mV in spite of a hold", duePack + charge("seen", "2024-02-04T10:00:00Z", `,"full":true,"cell_spread_mv":60`) + charge("held", "2024-02-05T10:00:00Z", `,"full":true,"hold_min":60,"cell_spread_mv":55`),
		[]step{{"2024-02-04T12:00:00Z", "", 0}, {"2024-02-06T10:00:00Z", "2024-02-05", 1}}, []string{"held"}},
	{"group_weak", "the same group lags", duePack + groups("a", "2024-02-01T10:00:00Z", "3.70,3.69,3.66") + groups("b", "2024-02-05T10:00:00Z", "3.80,3.80,3.76") + groups("c", "2024-02-09T10:00:00Z", "3.60,3.60,3.55"),
		[]step{{"2024-02-06T10:00:00Z", "", 0}, {"2024-02-10T10:00:00Z", "2024-02-09", 1}}, []string{"a", "b", "c"}},
	{"group_weak", "lfp only near the ends", lfpPack + groups("flat", "2024-02-01T10:00:00Z", "3.30,3.30,3.10") + `{"record":"check","id":"full","pack":"heron-a","at":"2024-02-05T10:00:00Z","soc_pct":100,"cell_spread_mv":199}
{"record":"check","id":"fuller","pack":"heron-a","at":"2024-02-07T10:00:00Z","soc_pct":100,"cell_spread_mv":200}
`, []step{{"2024-02-02T10:00:00Z", "", 0}, {"2024-02-06T10:00:00Z", "", 0}, {"2024-02-08T10:00:00Z", "2024-02-07", 1}}, []string{"fuller"}},

	{"self_discharge_high", "one group beyond the others, at rest", duePack + groups("a", "2024-02-01T10:00:00Z", "3.700,3.700,3.700,3.700") + groups("b", "2024-03-02T20:31:30Z", "3.690,3.660,3.690,3.690") + groups("c", "2024-04-02T07:03:00Z", "3.680,3.590,3.680,3.680") + inspection("2024-04-08T08:00:00Z"),
		[]step{{"2024-03-03T20:31:30Z", "", 0}, {"2024-04-03T08:00:00Z", "2024-04-02", 1}, {"2024-04-08T08:00:00Z", "", 0}}, []string{"b", "c"}},
	{"self_discharge_high", "a drain on all groups alike is not theirs", duePack + groups("a", "2024-02-01T10:00:00Z", "3.900,3.900,3.900,3.900") + groups("b", "2024-03-02T10:00:00Z", "3.700,3.700,3.700,3.700"), []step{{"2024-03-03T10:00:00Z", "", 0}}, nil},
	{"self_discharge_high", "not where it was ridden between", duePack + groups("a", "2024-02-01T10:00:00Z", "3.900,3.900,3.900,3.900") + `{"record":"ride","id":"out","pack":"heron-a","at":"2024-02-05T10:00:00Z"}
` + groups("b", "2024-03-02T10:00:00Z", "3.700,3.600,3.700,3.700"), []step{{"2024-03-03T10:00:00Z", "", 0}}, nil},
	{"self_discharge_high", "not where it was charged between and ridden only afterwards", duePack + groups("a", "2024-02-01T10:00:00Z", "3.700,3.700,3.700,3.700") + charge("in", "2024-02-05T10:00:00Z", "") + groups("b", "2024-03-02T10:00:00Z", "3.690,3.600,3.690,3.690") + `{"record":"ride","id":"later","pack":"heron-a","at":"2024-03-02T12:00:00Z"}
`, []step{{"2024-03-03T10:00:00Z", "", 0}}, nil},

	{"spread_grows", "half as large again, above 50 mV", duePack + charge("a", "2024-01-05T10:00:00Z", `,"cell_spread_mv":20`) + charge("b", "2024-02-05T10:00:00Z", `,"cell_spread_mv":49`) + charge("c", "2024-03-05T10:00:00Z", `,"cell_spread_mv":62`) + inspection("2024-03-08T08:00:00Z"),
		[]step{{"2024-02-06T10:00:00Z", "", 0}, {"2024-03-06T10:00:00Z", "2024-03-05", 1}, {"2024-03-08T08:00:00Z", "", 0}}, []string{"a", "c"}},
	{"spread_grows", "large but steady", duePack + charge("a", "2024-01-05T10:00:00Z", `,"cell_spread_mv":55`) + charge("b", "2024-02-05T10:00:00Z", `,"cell_spread_mv":60`) + charge("c", "2024-03-05T10:00:00Z", `,"cell_spread_mv":62`),
		[]step{{"2024-03-06T10:00:00Z", "", 0}}, nil},

	{"balance_hold", "ten part charges", duePack + tenPartCharges + charge("short", "2024-02-12T20:00:00Z", `,"full":true,"hold_min":59`) + charge("held", "2024-02-14T20:00:00Z", `,"full":true,"hold_min":60`),
		[]step{{"2024-02-10T19:00:00Z", "", 0}, {"2024-02-10T20:00:00Z", "2024-02-10", 0}, {"2024-02-13T20:00:00Z", "2024-02-10", 3}, {"2024-02-14T20:00:00Z", "", 0}}, []string{"part-0", "part-9"}},
	{"balance_hold", "done as a service", duePack + tenPartCharges + `{"record":"service","id":"even","pack":"heron-a","kind":"balance","at":"2024-02-12T08:00:00Z"}
`, []step{{"2024-02-11T20:00:00Z", "2024-02-10", 1}, {"2024-02-12T08:00:00Z", "", 0}}, nil},
	{"balance_hold", "a spread that grows", duePack + charge("a", "2024-01-05T10:00:00Z", `,"cell_spread_mv":10`) + charge("b", "2024-02-05T10:00:00Z", `,"cell_spread_mv":12`) + charge("c", "2024-03-05T10:00:00Z", `,"cell_spread_mv":35`) + charge("held", "2024-03-07T10:00:00Z", `,"full":true,"hold_min":90`),
		[]step{{"2024-02-06T10:00:00Z", "", 0}, {"2024-03-06T10:00:00Z", "2024-03-05", 1}, {"2024-03-07T10:00:00Z", "", 0}}, []string{"a", "c"}},
	{"balance_hold", "a single cell has nothing to balance", strings.Replace(strings.Replace(duePack, `"series":10`, `"series":1`, 1), `"limit_v":31,`, "", 1) + tenPartCharges, []step{{"2024-02-20T20:00:00Z", "", 0}}, nil},

	{"test_long_ago", "never", duePack + `{"record":"ride","id":"first","pack":"heron-a","at":"2024-01-30T10:00:00Z","distance_km":8}
`, []step{{"2024-01-30T10:00:00Z", "2024-02-29", 0}, {"2024-03-01T10:00:00Z", "2024-02-29", 1}}, nil},
	{"test_long_ago", "180 days ago", duePack + charge("full", "2024-01-29T10:00:00Z", `,"full":true`) + `{"record":"ride","id":"test","pack":"heron-a","at":"2024-01-30T10:00:00Z","distance_km":18,"stop":"limit"}
`, []step{{"2024-02-28T10:00:00Z", "", 0}, {"2024-06-28T10:00:00Z", "2024-07-28", 0}, {"2024-07-29T10:00:00Z", "2024-07-28", 1}}, []string{"test"}},
	{"test_long_ago", "not of a pack that was only written down", duePack, []step{{"2026-02-28T10:00:00Z", "", 0}}, nil},
	{"test_long_ago", "not while it is put away", duePack + `{"record":"ride","id":"first","pack":"heron-a","at":"2024-01-30T10:00:00Z","distance_km":8}
{"record":"service","id":"away","pack":"heron-a","kind":"storage","at":"2024-02-02T10:00:00Z","until":"2024-05-01T10:00:00Z"}
`, []step{{"2024-03-01T10:00:00Z", "", 0}, {"2024-04-15T10:00:00Z", "2024-05-01", 0}, {"2024-05-02T10:00:00Z", "2024-02-29", 63}}, nil},
}
