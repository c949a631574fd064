package report

import (
	"fmt"
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// steadyKmh is how far off a speed still counts as held in range tests of
// ISO 13064-1; one whose standard deviation is above unsteadyKmh was not held
// (common practice, no source).
const (
	steadyKmh   = 2
	unsteadyKmh = 3
)

// TestSheet is what to set, ride and record for a range test that tells the
// log most.
type TestSheet struct {
	Pack       string      `json:"pack"`
	AsOf       string      `json:"as_of"`
	AirC       float64     `json:"air_c"`       // usual on the day
	ExpectedKm *Estimate   `json:"expected_km"` // what the test would show in the usual air, no wind
	Set        []SheetLine `json:"set"`
	Record     []SheetLine `json:"record"`
	Weak       []SheetLine `json:"weak_spots"` // of this log, with why each matters
	TurnBackKm *float64    `json:"turn_back_km"`
	TurnBackV  *float64    `json:"turn_back_v"`
	LimitV     float64     `json:"limit_v"`
	Cautions   []string    `json:"cautions"`
	Warnings   []Warning   `json:"warnings"`
}

// SheetLine is one thing with what to do about it. Blank asks for a figure to
// be written down.
type SheetLine struct {
	What string   `json:"what"`
	Text string   `json:"text,omitempty"`
	Fig  *float64 `json:"figure,omitempty"` // to be set, in the unit of Unit
	Unit string   `json:"unit,omitempty"`

	said phrase // Text, where it holds quantities
}

// TextIn is Text in the units of sys.
func (l SheetLine) TextIn(sys units.System) string {
	if l.said == nil {
		return l.Text
	}
	return l.said.in(sys)
}

// sheetUnits are the units of a figure, by SheetLine.Unit.
var sheetUnits = map[string]units.Unit{"kPa": units.Kpa, "km/h": units.Kmh, "kg": units.Kg, "V": units.Volt}

// Words are the figure, to a tenth of its unit, and the text in the units of sys.
func (l SheetLine) Words(sys units.System) string {
	text := l.TextIn(sys)
	if l.Fig == nil {
		return text
	}
	figure := units.Format(math.Round(*l.Fig*10)/10, sheetUnits[l.Unit], sys)
	if text == "" {
		return figure
	}
	return figure + ", " + text
}

// sheetLine is a line whose text holds quantities.
func sheetLine(what string, said phrase) SheetLine {
	return SheetLine{What: what, Text: said.in(units.Metric), said: said}
}

// sheetTests is how many of the latest tests are looked at for weak spots.
const sheetTests = 12

// TestSheetOf makes the sheet for a test on the day of the history's as-of.
func TestSheetOf(h *logbook.History, fit *model.Fit) *TestSheet {
	ref, known := fit.Reference(), fit.Known()
	air, _ := fit.UsualAirC(h.AsOf)
	s := &TestSheet{Pack: h.Pack.ID, AsOf: logbook.FormatTime(h.AsOf), AirC: tidy(math.Round(air)), LimitV: tidy(ref.LimitV), Set: []SheetLine{}, Record: []SheetLine{}, Weak: []SheetLine{}, Warnings: append([]Warning{}, barred(Known{h, fit})...)}
	if len(s.Warnings) > 0 { // no test is to be ridden
		s.Cautions = []string{"Do not charge it for a test either. Leave opening it to trained people under your local codes."}
		return s
	}
	if !fit.Bench() && known.Capacity && known.Road {
		r := fit.Reach(model.Standing{UsedWh: logbook.Some(0), Risk: .05, Test: true, Way: model.Way{AirC: logbook.Some(s.AirC)}})
		s.ExpectedKm, s.TurnBackKm, s.TurnBackV = estimate(r.ThisRideKm), bound(r.TurnBackKm), bound(r.TurnBackV)
	} else {
		s.Warnings = append(s.Warnings, untold(Known{h, fit})...)
	}
	s.set(h, fit, ref)
	s.record(h.BoardAt(h.Pack.Board, h.AsOf).Airless())
	s.weak(h, fit)
	s.Cautions = []string{
		"A full pack cannot take what a brake gives back: on a descent right after charging the protection may open, and drive and brake go at once. Begin on the level, or leave a few percent free.",
		LimitOf(h, fit).caution("End the test at"),
		BelowLimit,
		"Ride rounds near home or with a way to be fetched: a test ends where the pack does. Check tyres, bolts, brake and plugs before, wear what protects you, and keep to your local rules of the road.",
		"Charge where nothing around can burn, with somebody at home, and not a pack that was knocked, wet or hot. Leave opening it to trained people under your local codes.",
	}
	return s
}

func (s *TestSheet) set(h *logbook.History, fit *model.Fit, ref model.Conditions) {
	figure := func(what string, text phrase, v float64, unit string) {
		v = tidy(v)
		l := sheetLine(what, text)
		l.Fig, l.Unit = &v, unit
		s.Set = append(s.Set, l)
	}
	s.Set = append(s.Set, SheetLine{What: "charge", Text: "until the charger has finished, then hold it for an hour or more so that the groups even out; ride within the day"})
	switch board := h.BoardAt(h.Pack.Board, h.AsOf); {
	case board.Airless():
	case board.RefTyreKpa.OK:
		figure("tyre", say("set it cold, on the day"), board.RefTyreKpa.V, "kPa")
	default:
		s.Set = append(s.Set, SheetLine{What: "tyre", Text: "set it cold to the same pressure each time, and give the board that as its ref_tyre_kpa"})
	}
	figure("speed", say("hold it within ", exact(steadyKmh, units.Kmh), "; the same each time tells most"), ref.SpeedKmh, "km/h")
	figure("rider with gear", say("weigh it, or carry what makes it up"), fit.ReferenceRiderKg(), "kg")
	route := h.Pack.RefRoute
	if route == "" {
		route = "one with a smooth surface, few stops and little climbing, ridden in rounds"
	}
	s.Set = append(s.Set, SheetLine{What: "route", Text: route})
	s.Set = append(s.Set, sheetLine("weather", say("little wind, dry; air and pack near ", degrees(ref.AirC), " tell most, another temperature is corrected")))
	if LimitOf(h, fit).Stated {
		figure("end", say("stop where the volts under load meet the limit"), ref.LimitV, "V")
	} else {
		s.Set = append(s.Set, SheetLine{What: "end", Text: "stop where the volts under load meet the pack's limit, which its maker knows"})
	}
}

func (s *TestSheet) record(airless bool) {
	for _, l := range [][2]string{
		{"start_rest_v", "volts at rest before the start"}, {"ambient_c", "air"}, {"pack_c", "pack, before and after: their mean"}, {"tyre_kpa", "cold, before the start"}, {"rider_kg", "with gear"},
		{"wind_kmh, wind_from_deg, shape", "wind and the shape of the way"}, {"distance_km, odometer_km", "way, and the odometer at the end"}, {"moving_speed_kmh, speed_sd_kmh", "from the track: `packwane track`"},
		{"climb_m, descent_m", "from the track too"}, {"discharged_ah, discharged_wh", "what the meter counted (and regen_* where it has that)"}, {"stop", "limit, or why it ended"}, {"end_rest_v, end_rest_min", "volts after half an hour or more, and how long"},
		{"charged_ah, charged_wh", "of the charge that follows, to its end"},
	} {
		if l[0] != "tyre_kpa" || !airless {
			s.Record = append(s.Record, SheetLine{What: l[0], Text: l[1]})
		}
	}
}

// weak looks at the latest tests for what their records lack.
func (s *TestSheet) weak(h *logbook.History, fit *model.Fit) {
	repeats := fit.Repeats()
	tests := repeats[max(0, len(repeats)-sheetTests):]
	add := func(what, text string) { s.Weak = append(s.Weak, SheetLine{What: what, Text: text}) }
	if len(repeats) < 4 {
		add("tests", fmt.Sprintf("%d rides from full to the limit are logged: a handful tell the range, a dozen how well a test repeats", len(repeats)))
	}
	if !LimitOf(h, fit).Stated {
		add("limit_v", "the pack has no limit to go by: every full cycle depends on it")
	}
	if len(tests) == 0 {
		return
	}
	n := len(tests)
	missing := func(what, why string, has func(*logbook.Ride) bool) {
		k := 0
		for _, t := range tests {
			if !has(t.Ride) {
				k++
			}
		}
		if 3*k >= n {
			add(what, fmt.Sprintf("missing in %d of the last %d tests: %s", k, n, why))
		}
	}
	missing("tyre_kpa", "a third less pressure costs about a tenth of the range (common practice)", func(r *logbook.Ride) bool {
		return r.TyreKpa.OK || h.BoardAt(h.RideBoard(r), r.At).Airless()
	})
	missing("wind", "it changes a range more than most else", func(r *logbook.Ride) bool { return r.HeadwindKmh.OK || r.WindKmh.OK })
	missing("rider_kg", "rolling grows with it", func(r *logbook.Ride) bool { return r.RiderKg.OK })
	missing("ambient_c", "cold air is denser and a cold pack gives less", func(r *logbook.Ride) bool { return r.AmbientC.OK })
	missing("pack_c", "the pack's own warmth decides where the limit comes", func(r *logbook.Ride) bool { return r.PackC.OK })
	missing("moving_speed_kmh", "drag grows with its square", func(r *logbook.Ride) bool { return rideKmh(r).V > 0 })
	missing("speed_sd_kmh", "an unsteady ride takes more than a steady one", func(r *logbook.Ride) bool { return r.SpeedSdKmh.OK })
	missing("climb_m", "hills cost more than they give back", func(r *logbook.Ride) bool { return r.ClimbM.OK })
	missing("start_rest_v", "it tells whether the pack was full", func(r *logbook.Ride) bool { return r.StartRestV.OK })
	missing("discharged_ah or discharged_wh", "they part the pack from the road", func(r *logbook.Ride) bool { return r.DischargedAh.OK || r.DischargedWh.OK })
	s.weakCharges(h)
	if k := unsteady(tests); 3*k >= n {
		s.Weak = append(s.Weak, sheetLine("speed", say(fmt.Sprintf("in %d of the last %d tests it swung by more than ", k, n), exact(unsteadyKmh, units.Kmh), ": hold it steadier")))
	}
}

// weakCharges looks at the latest full charges for a hold.
func (s *TestSheet) weakCharges(h *logbook.History) {
	full, held := 0, 0
	for i := len(h.Charges) - 1; i >= 0 && full < sheetTests; i-- {
		if c := h.Charges[i]; c.Full == logbook.Yes {
			full++
			if c.HoldMin.Or(0) >= 30 {
				held++
			}
		}
	}
	if full >= 4 && held*4 < full {
		s.Weak = append(s.Weak, SheetLine{What: "hold_min", Text: fmt.Sprintf("%d of the last %d full charges were held on: uneven groups hide capacity", held, full)})
	}
}

func unsteady(tests []model.Repeat) int {
	k := 0
	for _, t := range tests {
		if t.Ride.SpeedSdKmh.OK && t.Ride.SpeedSdKmh.V > unsteadyKmh {
			k++
		}
	}
	return k
}
