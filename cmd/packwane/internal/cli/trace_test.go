package cli

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"packwane/health/trace"
)

// The scripts of trace have one more command:
//
//	maketrace FILE          make an invented trace of a pack of 10 groups, 12 Ah:
//	                        20 min of rest, a ride of 30 min, 20 min of rest, a
//	                        charge of an hour and a rest, a row a second, amperes
//	                        positive on discharge
func init() { commands["maketrace"] = cmdMakeTrace }

func cmdMakeTrace(ts *testscript.TestScript, _ bool, args []string) {
	var b strings.Builder
	b.WriteString("seconds;I batt;volts;note\n")
	drawn, t := 1.0, 0
	run := func(seconds int, amps func(s int) float64) {
		for s := range seconds {
			i := amps(s)
			t++
			drawn += i / 3600
			fmt.Fprintf(&b, "%d;%.3f;%.3f;x\n", t, i, 41.5-0.75*drawn-0.1*i)
		}
	}
	run(1200, func(int) float64 { return 0 })
	run(1800, func(s int) float64 { return 8 + 5*math.Sin(float64(s)/9) })
	run(1200, func(int) float64 { return 0 })
	run(3600, func(int) float64 { return -2.5 })
	run(1200, func(int) float64 { return 0 })
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.ReplaceAll(b.String(), ".", ",")), 0o644))
}

// TestGroupsShareAColumn: the voltages of many series groups stand as their
// lowest and highest, so that the first rows fit a terminal.
func TestGroupsShareAColumn(t *testing.T) {
	columns := []trace.ProposedColumn{{Role: "time"}, {Role: "groups"}, {Role: "voltage"}, {Role: "groups"}, {Role: "groups"}}
	for _, tc := range []struct{ row, want string }{
		{"0|4.14|12.4|4.11|4.15", "0|4.11 to 4.15|12.4"},
		{"1||12.4|4.11|", "1|4.11 to 4.11|12.4"},
		{"2||12.4||", "2||12.4"},
	} {
		if got := strings.Join(joinGroups(columns, strings.Split(tc.row, "|"), "groups"), "|"); got != tc.want {
			t.Errorf("%s gives %s, want %s", tc.row, got, tc.want)
		}
	}
}
