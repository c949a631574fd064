package report

import (
	"fmt"
	"math"
	"strings"

	"packwane/health/law"
	"packwane/health/logbook"
)

// slipKind is a way to get a figure wrong that a factor undoes.
type slipKind struct {
	code   string
	what   string  // what may have happened
	fields string  // fields it is looked for in, parted by blanks; a leading * stands for any beginning
	factor float64 // figure times factor is what was meant
	// of gives the factor where it depends on the pack; 0 where it cannot be
	// said.
	of   func(*audit) float64
	lost bool // no factor brings back what was meant
}

// The factors of length, mass and pressure: 1 mi = 1.609344 km, 1 lb =
// 0.45359237 kg, 1 psi = 6.894757 kPa (NIST SP 811, appendix B).
var slipKinds = []slipKind{
	{code: "miles_as_km", what: "miles may have been typed as kilometres", fields: "distance_km odometer_km", factor: 1.609344},
	{code: "km_as_miles", what: "kilometres may have been typed as miles", fields: "distance_km odometer_km", factor: 1 / 1.609344},
	{code: "metres_as_km", what: "metres may have been typed as kilometres", fields: "distance_km", factor: .001},
	{code: "mah_as_ah", what: "milliampere-hours may have been typed as ampere-hours", fields: "*_ah", factor: .001},
	{code: "kwh_as_wh", what: "kilowatt-hours may have been typed as watt-hours", fields: "*_wh", factor: 1000},
	{code: "ah_as_wh", what: "ampere-hours may have been typed as watt-hours", fields: "*_wh", of: (*audit).packV},
	{code: "wh_as_ah", what: "watt-hours may have been typed as ampere-hours", fields: "*_ah", of: func(a *audit) float64 { return inverse(a.packV()) }},
	{code: "psi_as_kpa", what: "psi may have been typed as kPa", fields: "tyre_kpa ref_tyre_kpa", factor: 6.894757},
	{code: "bar_as_kpa", what: "bar may have been typed as kPa", fields: "tyre_kpa ref_tyre_kpa", factor: 100},
	{code: "pounds_as_kg", what: "pounds may have been typed as kilograms", fields: "rider_kg mass_kg", factor: .45359237},
	{code: "ohm_as_mohm", what: "ohms may have been typed as milliohms", fields: "resistance_mohm", factor: 1000},
	{code: "cell_volts", what: "the volts of one cell may have been typed for the pack's", fields: "start_rest_v end_rest_v rest_v load_v min_v", of: (*audit).series},
	{code: codeCellCount, what: "the number of series groups may be wrong", fields: "series", lost: true},
	{code: codeShifted, what: "the decimal point may be one place too far right", fields: "*", factor: .1},
	{code: codeShifted, what: "the decimal point may be one place too far left", fields: "*", factor: 10},
	{code: codeShifted, what: "the decimal point may be two places too far right", fields: "*", factor: .01},
	{code: codeShifted, what: "the decimal point may be two places too far left", fields: "*", factor: 100},
	{code: "read_under_load", what: "the volts may have been read under load", fields: "start_rest_v end_rest_v rest_v", lost: true},
	{code: "read_too_soon", what: "the volts may have been read too soon, before the pack had settled", fields: "start_rest_v end_rest_v rest_v", lost: true},
}

func over(a, b float64) float64 {
	if !(a > 0) || !(b > 0) {
		return 0
	}
	return a / b
}

func inverse(v float64) float64 { return over(1, v) }

// series is the number of series groups, 0 where it is not known.
func (a *audit) series() float64 { return a.h.Pack.Series.Or(0) }

// packV is the nominal volts of the pack, 0 where they are not known.
func (a *audit) packV() float64 {
	chem, _ := law.ChemistryNamed(a.h.Pack.Chemistry)
	return a.series() * a.h.Pack.CellNominalV.Or(chem.NominalV)
}

// meant is the figure that the slip turns figure back into.
func (k *slipKind) meant(a *audit, figure float64) float64 { return figure * k.factorOf(a) }

func (k *slipKind) factorOf(a *audit) float64 {
	if k.of != nil {
		return k.of(a)
	}
	return k.factor
}

func (k *slipKind) suits(field string) bool {
	for _, f := range strings.Fields(k.fields) {
		if tail, any := strings.CutPrefix(f, "*"); f == field || any && strings.HasSuffix(field, tail) {
			return true
		}
	}
	return false
}

// How near the figure meant must come to the expected one: within three of the
// standard deviations by which the figure surprised, and within a seventh.
const (
	nearSds   = 3.
	nearShare = .15
)

// explain returns the likely slip behind a figure that is not what is
// expected, nil where none fits: the one whose factor brings it nearest, and
// near enough. surprise is how many standard deviations lie between.
func (a *audit) explain(field string, figure, expected, surprise float64) *slipKind {
	if !(figure > 0) || !(expected > 0) || !(surprise > 0) {
		return nil
	}
	off := math.Abs(math.Log(figure / expected))
	near := min(nearShare, nearSds*off/surprise)
	if strings.HasSuffix(field, "_v") {
		near = min(near, .02) // volts are read to far better than that
	}
	var best *slipKind
	bestOff := min(near, off/2)
	for i := range slipKinds {
		k := &slipKinds[i]
		f := k.factorOf(a)
		if k.lost || !k.suits(field) || f <= 0 {
			continue
		}
		if o := math.Abs(math.Log(figure * f / expected)); o < bestOff {
			best, bestOff = k, o
		}
	}
	if best == nil && !strings.HasSuffix(field, "_v") {
		return shifted(field, figure, expected)
	}
	return best
}

// shiftShare is how near a figure must come to the expected one by a shift of
// its point, which no meter's error and hardly a state of the pack brings
// about.
const shiftShare = .3

func shifted(field string, figure, expected float64) *slipKind {
	for i := range slipKinds {
		k := &slipKinds[i]
		if k.code == codeShifted && k.suits(field) && math.Abs(math.Log(figure*k.factor/expected)) < shiftShare {
			return k
		}
	}
	return nil
}

func kindNamed(code string) *slipKind {
	for i := range slipKinds {
		if slipKinds[i].code == code {
			return &slipKinds[i]
		}
	}
	return nil
}

// mend says how to put a figure right.
func (k *slipKind) mend(r logbook.Record, f logbook.Field, meant float64) phrase {
	if k.lost {
		return say("take it out, or note how long it had rested: " + amend(r, f.Name, ""))
	}
	return say("packwane amend "+logbook.HeadOf(r).ID+" ", assigned{f, meant})
}

// amend is the command that sets a field of a record.
func amend(r logbook.Record, field, value string) string {
	return fmt.Sprintf("packwane amend %s %s=%s", logbook.HeadOf(r).ID, field, value)
}

// shortNumber writes v to four figures.
func shortNumber(v float64) string { return toFigures(v, 4) }

// toFigures writes v to so many figures.
func toFigures(v float64, n int) string {
	if v == 0 {
		return "0"
	}
	scale := math.Pow(10, float64(n-1)-math.Floor(math.Log10(math.Abs(v))))
	return logbook.FormatNumber(math.Round(v*scale) / scale)
}
