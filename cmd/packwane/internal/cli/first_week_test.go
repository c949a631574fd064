package cli

import (
	"encoding/json"

	"github.com/rogpeppe/go-internal/testscript"
)

func init() {
	commands["narrower"] = cmdNarrower
	commands["idof"] = cmdIDOf
}

// cmdIDOf sets a variable to the id of the record in a document of log: idof
// FILE VAR.
func cmdIDOf(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: idof FILE VAR")
	}
	var doc struct{ Record struct{ ID string } }
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &doc))
	ts.Setenv(args[1], doc.Record.ID)
}

// cmdNarrower asks that the interval of an estimate is known in both documents
// and narrower in the second: narrower KEY FIRST SECOND.
func cmdNarrower(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: narrower KEY FIRST SECOND")
	}
	width := func(file string) float64 {
		var doc map[string]json.RawMessage
		ts.Check(json.Unmarshal([]byte(ts.ReadFile(file)), &doc))
		var e *struct{ Low, High float64 }
		ts.Check(json.Unmarshal(doc[args[0]], &e))
		if e == nil {
			ts.Fatalf("%s: %s is not known", file, args[0])
		}
		return e.High - e.Low
	}
	if first, second := width(args[1]), width(args[2]); second >= first {
		ts.Fatalf("%s is %g wide in %s and %g wide in %s", args[0], first, args[1], second, args[2])
	}
}
