package web

import (
	"strings"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

// quantityAsk is a quantity that a page can be asked with.
type quantityAsk struct {
	name, label string
	typed.Ask
	hint string
}

// askedWith reads quantities off the address: an input for each, and their
// values. ok is false where one cannot be understood; its input says so.
func (v *visit) askedWith(list []quantityAsk) (inputs []*input, values map[string]logbook.Num, ok bool) {
	values, ok = map[string]logbook.Num{}, true
	q := v.URL.Query()
	for _, a := range list {
		symbol := units.Symbol(a.Unit, v.who.System)
		in := &input{ID: "f-" + a.name, Name: a.name, Label: a.label, Value: strings.TrimSpace(q.Get(a.name)), Hint: joinedBy("; ", a.hint, "in "+symbol+", or type the unit")}
		inputs = append(inputs, in)
		if in.Value == "" {
			continue
		}
		x, _, err := units.ParseIn(in.Value, a.Unit, v.who.System)
		if err != nil {
			in.Error, ok = prose.Sentence(err.Error()), false
			continue
		}
		if !a.Takes(x) {
			in.Error, ok = "Want "+a.Want(v.who.System)+".", false
			continue
		}
		values[a.name] = logbook.Some(x)
	}
	return inputs, values, ok
}

// boardAsk asks on which board the packs are to be ridden, and returns the one that is
// chosen; nil where they were not all ridden on two at least. "" is the usual one of each.
func (v *visit) boardAsk(of ...*logbook.History) (in *input, chosen string) {
	in = &input{ID: "f-board", Name: "board", Label: "board", Choices: []choice{{Value: "", Text: "the usual one"}}}
	for _, board := range report.RiddenBoards(of...) {
		here := v.URL.Query().Get("board") == board
		in.Choices = append(in.Choices, choice{Value: board, Text: board, Here: here})
		if here {
			chosen = board
		}
	}
	if len(in.Choices) < 3 {
		return nil, ""
	}
	return in, chosen
}

// packPicks lists the packs to choose some from.
func packPicks(l *loaded, chosen []string) []choice {
	var out []choice
	for _, p := range l.packs {
		c := choice{Value: p.ID, Text: nameOf(p)}
		for _, id := range chosen {
			c.Here = c.Here || id == p.ID
		}
		out = append(out, c)
	}
	return out
}
