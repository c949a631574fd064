package report

import (
	"fmt"

	"packwane/health/prose"
	"packwane/health/units"
)

// TestsWord is what a plan counts: "tests of each".
func (p *Plan) TestsWord() string {
	switch {
	case p.Paired:
		return "outings together"
	case len(p.Packs) == 1:
		return "tests before and after"
	}
	return "tests of each"
}

// UsedWords says what the repeatability was read off.
func (p *Plan) UsedWords() string {
	if p.Paired {
		return "from " + prose.Plural(p.PairsUsed, "pair")
	}
	return "from " + prose.Plural(p.TestsUsed, "test")
}

// Words says the plan in a sentence.
func (p *Plan) Words(sys units.System) string {
	d := units.Format(p.DifferenceKm, units.Km, sys)
	switch {
	case p.RepeatabilityKm == nil:
		return "How many tests tell " + d + " apart cannot be said yet."
	case p.TestsEach == nil:
		return d + " cannot be told apart by any number of tests that one would ride."
	}
	words := fmt.Sprintf("%s %s tell %s apart nine times of ten, at a two-sided level of 5 %%", prose.Grouped(*p.TestsEach), p.TestsWord(), d)
	if p.TestsEachLow != nil && p.TestsEachHigh != nil {
		words += fmt.Sprintf(" (%d to %d, by how well the log knows the scatter)", *p.TestsEachLow, *p.TestsEachHigh)
	}
	return words + "."
}
