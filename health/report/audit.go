package report

import (
	"slices"
	"strings"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Finding is one record, or one figure of it, that does not fit the rest.
type Finding struct {
	Record     string `json:"record"` // its id
	Pack       string `json:"pack"`
	Code       string `json:"code"`            // snake_case, see AuditCodes
	Field      string `json:"field,omitempty"` // of the record; empty where the record as a whole is meant
	Text       string `json:"text"`
	Suggestion string `json:"suggestion"`

	at           logbook.Record
	text, advice phrase
}

// TextIn is the text in the units of sys.
func (f Finding) TextIn(sys units.System) string { return f.text.in(sys) }

// SuggestionIn is the suggestion in the units of sys.
func (f Finding) SuggestionIn(sys units.System) string { return f.advice.in(sys) }

// AdviceIn parts the suggestion into its words and, where it holds one, the
// command behind them, without the program's name.
func (f Finding) AdviceIn(sys units.System) (words, call string) {
	words, call, _ = strings.Cut(f.advice.in(sys), "packwane ")
	return strings.TrimSpace(words), call
}

// AuditCodes says in a phrase what each code of a finding of its own means;
// those of logbook.Slips that no unit or factor explains stand as they are.
func AuditCodes() map[string]string {
	out := map[string]string{
		codeUnlike:     "a figure that the rest of the log does not expect, for no likely reason",
		codePartCharge: "a charge that may have ended before the pack was full",
		codeRestarted:  "a meter that counted only a part",
		codeNoRide:     "the pack was emptier than the log expects: a ride before seems not to be logged",
		codeNoCharge:   "the pack was fuller than the log expects: a charge before seems not to be logged",
		codeKept:       "kept against advice by whoever logged it",
		codeStored:     "a ride of a pack that was to be stored then",
		codeDuplicate:  "the same event under two ids",
		codeMisdated:   "a ride that fits a year apart from its date",
		codeEarly:      "a stop at the limit with much of the charge left",
		codeFahrenheit: "degrees Fahrenheit may have been typed as Celsius",
		codeCelsius:    "degrees Celsius may have been typed as Fahrenheit",
		codeSide:       "a meter that is elsewhere on the other side of the charger",
	}
	for _, s := range slipKinds {
		out[s.code] = s.what
	}
	out[codeShifted] = "the decimal point may be in another place"
	return out
}

// Codes of findings.
const (
	codeUnlike     = "unlike_the_rest"
	codeRetirement = "pack_retired"
	codeStored     = "pack_stored"
	codePartCharge = "ended_before_full"
	codeRestarted  = "meter_restarted"
	codeNoRide     = "ride_missing_before"
	codeNoCharge   = "charge_missing_before"
	codeKept       = "kept_against_advice"
	codeDuplicate  = "duplicate"
	codeCellCount  = "cell_count"
	codeShifted    = "decimal_shifted"
	codeMisdated   = "year_wrong"
	codeEarly      = "ended_early"
	codeFahrenheit = "fahrenheit_as_celsius"
	codeCelsius    = "celsius_as_fahrenheit"
	codeSide       = "other_meter_side"
)

// AuditOf lists what does not fit in a pack's history, in the order of the
// log, each figure once: what the fit put aside, with the likely slip where a
// factor explains it, what looks like a slip of the pen, doubled events, and
// what was kept against advice. Nothing is changed; fit may be nil.
func AuditOf(h *logbook.History, fit *model.Fit) []Finding {
	a := newAudit(h, fit)
	for _, look := range a.looks() {
		look()
	}
	slices.SortStableFunc(a.out, func(x, y Finding) int {
		if c := logbook.Compare(x.at, y.at); c != 0 {
			return c
		}
		return strings.Compare(x.Field, y.Field)
	})
	if a.out == nil {
		return []Finding{}
	}
	return a.out
}

// auditLists reports whether AuditOf lists anything. It ends with the first
// finding: none is ever taken back but for another.
func auditLists(h *logbook.History, fit *model.Fit) bool {
	a := newAudit(h, fit)
	a.oneWillDo = true
	return slices.ContainsFunc(a.looks(), func(look func()) bool {
		look()
		return len(a.out) > 0
	})
}

type audit struct {
	h     *logbook.History
	fit   *model.Fit
	out   []Finding
	seen  map[figureKey]int // index in out
	aside doubted           // figures that the fit put aside

	oneWillDo bool // a look may end with its first finding

	ohm      float64            // of the pack now; 0 until it is asked for
	odometer map[string]float64 // where it stood after each ride, by the readings that are believed
	legs     map[string][]leg   // of each board
	decimals map[string]int     // that a field mostly has, by kind and name
}

func newAudit(h *logbook.History, fit *model.Fit) *audit {
	return &audit{h: h, fit: fit, seen: map[figureKey]int{}}
}

// looks are what an audit looks for, in turn: each knows what those before it
// found.
func (a *audit) looks() []func() {
	return []func(){a.cellCount, a.paced, a.misread, a.sides, a.partners, a.duplicates, a.slips, a.odd, a.sequences, a.dates, a.stored, a.kept}
}

// add files a finding about a field of a record, unless there is one already
// that says as much.
func (a *audit) add(r logbook.Record, field, code string, text, advice phrase) {
	id := logbook.HeadOf(r).ID
	key := keyOf(r, field)
	f := Finding{Record: id, Pack: a.h.Pack.ID, Code: code, Field: field, Text: text.in(units.Metric), Suggestion: advice.in(units.Metric), at: r, text: text, advice: advice}
	i, there := a.seen[key]
	switch {
	case !there:
		a.seen[key] = len(a.out)
		a.out = append(a.out, f)
	case a.out[i].Code == codeUnlike && code != codeUnlike:
		a.out[i] = f
	}
}

// kept files the fields that were kept against advice, or says so where
// something was found of them already.
func (a *audit) kept() {
	for _, r := range a.h.Records() {
		note := logbook.HeadOf(r).Note
		for _, part := range strings.Split(note, logbook.KeptAgainstAdvice)[1:] {
			field := strings.FieldsFunc(part, func(c rune) bool { return c == ';' || c == ' ' || c == '\n' || c == ',' })
			if len(field) == 0 {
				continue
			}
			if i, told := a.seen[keyOf(r, field[0])]; told {
				f := &a.out[i]
				f.text = say(f.text, "; it was kept against advice when it was logged")
				f.Text = f.text.in(units.Metric)
				continue
			}
			a.add(r, field[0], codeKept, say(named(field[0]), " was kept against advice when it was logged"), say("look at it again; where it is right, take the mark out of the note"))
		}
	}
}
