package web

import (
	"fmt"
	"net/http"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /reach", title: "How far from here?", menu: menuAnswers, about: "a voltage in; what is left and where to turn back out", ofPack: true, serve: (*visit).reach})
var _ = addPage(page{pattern: "GET /tape", title: "Voltage table", menu: menuAnswers, about: "volts against kilometres, to print for the board", ofPack: true, serve: (*visit).tape})

var reachAsks = []quantityAsk{
	{"rest", "volts at rest, now", typed.AskRestVolts, "of the whole pack"}, {"rested", "rested since the load", typed.AskRested, "else long"},
	{"wh", "energy used since full", typed.AskUsedWh, ""}, {"out", "ridden from home", typed.AskOut, "the way back as long"},
	{"temp", "air temperature", typed.AskAir, "else the season's"}, {"wind", "wind against, on the way out", typed.AskHeadwind, ""},
}

var reachMore = []quantityAsk{
	{"ah", "charge used since full", typed.AskUsedAh, ""}, {"climb", "still to climb", typed.AskClimb, "none of it is counted to come back"},
	{"speed", "moving speed", typed.AskSpeed, ""}, {"tyre", "tyre pressure", typed.AskTyre, ""}, {"rider", "rider with gear", typed.AskRider, ""},
	{"risk", "how often home may not be reached", typed.AskRisk, "5 % where nothing is said"},
}

// reach answers from where the rider stands.
func (v *visit) reach() (reply, error) {
	l, a, err := v.answersFor(v.FormValue("pack"))
	if a == nil || err != nil {
		return v.noPack(), err
	}
	sight, values, ok := v.askedWith(reachAsks)
	more, others, fine := v.askedWith(reachMore)
	for name, x := range others {
		values[name] = x
	}
	p := a.history.Pack
	board, on := v.boardAsk(a.history)
	if board != nil {
		more = append(more, board)
	}
	form := asking{Path: "/reach", Hidden: []pair{{"pack", p.ID}}, Inputs: sight, More: []inputGroup{{Title: "More about it", Open: len(others) > 0 || !fine || on != "", Inputs: more}}, Button: "How far?"}
	if want := report.OneCell(values["rest"], p); want != "" {
		sight[0].Error, ok = prose.Sentence(want), false
	}
	d := v.documentAbout(l, a, "How far from here?")
	d.Cautions = []string{v.limitCaution(a)}
	if !ok || !fine {
		d.Blocks = []block{form}
		out := documentOf("/more", d)
		out.status = http.StatusBadRequest
		return out, nil
	}
	s := standing(values, on)
	if !s.RestV.OK && !s.UsedAh.OK && !s.UsedWh.OK {
		d.Blocks = []block{form}
		return documentOf("/more", d), nil
	}
	r := report.ReachOf(a.history, a.fit(), s)
	f := v.figures(report.WithoutBars(r.Warnings)) // said above all else
	d.Lead = "At " + r.Conditions.Words(v.who.System) + "."
	d.Cautions = r.Cautions
	d.Blocks = []block{reachBigs(f, r), words{Text: []string{r.Words(v.who.System)}}, leftGroup(f, r, v.limitName(a)), homeGroup(f, r), f.rest(), form}
	return documentOf("/more", d), nil
}

func standing(x map[string]logbook.Num, board string) model.Standing {
	return model.Standing{
		RestV: x["rest"], RestedMin: x["rested"], UsedAh: x["ah"], UsedWh: x["wh"], OutKm: x["out"], ClimbM: x["climb"].Or(0), Risk: x["risk"].Or(report.DefaultRiskPct) / 100,
		Way: model.Way{AirC: x["temp"], HeadwindKmh: x["wind"], SpeedKmh: x["speed"], TyreKpa: x["tyre"], RiderKg: x["rider"], Board: board},
	}
}

// leftGroup are the figures of what is left but for the one that stands above.
func leftGroup(f *figures, r *report.Reach, limit string) figureGroup {
	g := figureGroup{Title: "Left above " + limit + " under load"}
	for _, x := range r.Lines() {
		if x.Key != "remaining_km" {
			x.Label = prose.Capital(x.Label)
			g.Rows = append(g.Rows, f.line(x))
		}
	}
	return g
}

func homeGroup(f *figures, r *report.Reach) block {
	g := figureGroup{Title: "Out and back"}
	for _, x := range r.Home(f.system) {
		x.Label = prose.Capital(x.Label)
		g.Rows = append(g.Rows, f.given(x))
	}
	if len(g.Rows) == 0 {
		return notes{}
	}
	return g
}

// reachBigs are what the rider looks for at the kerb.
func reachBigs(f *figures, r *report.Reach) block {
	var out bigs
	for _, x := range r.Lines() {
		if x.Key == "remaining_km" {
			out.Rows = append(out.Rows, f.of("left, on average", x.Estimate, x.Unit, x.Why...))
		}
	}
	if home := r.Home(f.system); len(home) > 0 {
		turn := home[0]
		turn.Remark, turn.Alarm = "", false // said below
		out.Rows = append(out.Rows, f.given(turn))
	}
	if len(out.Rows) == 0 {
		return notes{}
	}
	return out
}

var tapeAsks = []quantityAsk{
	{"temp", "air temperature", typed.AskAir, "else the season's"}, {"rested", "rested since the load", typed.AskRested, "else long"}, {"wind", "wind against", typed.AskHeadwind, ""},
}

// tape is a table of volts against kilometres.
func (v *visit) tape() (reply, error) {
	l, a, err := v.answersFor(v.FormValue("pack"))
	if a == nil || err != nil {
		return v.noPack(), err
	}
	inputs, values, ok := v.askedWith(tapeAsks)
	board, on := v.boardAsk(a.history)
	if board != nil {
		inputs = append(inputs, board)
	}
	d := v.documentAbout(l, a, "Voltage table")
	form := asking{Path: "/tape", Hidden: []pair{{"pack", a.history.Pack.ID}}, Inputs: inputs, Button: "Make the table"}
	if !ok {
		d.Blocks = []block{form}
		out := documentOf("/more", d)
		out.status = http.StatusBadRequest
		return out, nil
	}
	s := standing(values, on)
	r := report.ReachOf(a.history, a.fit(), s)
	r.Tape(a.history, a.fit(), s)
	d.Lead = "At " + r.Conditions.Words(v.who.System) + "."
	d.Cautions = r.Cautions
	t := tableBlock{Caption: "Left above " + v.limitName(a) + " under load, by the volts at rest", Heads: []string{"V at rest", units.Symbol(units.Km, v.who.System) + " left", "90 %"}}
	t.Note = "Read after a long rest; a minute after load it reads lower."
	if r.Conditions.RestedMin != nil {
		t.Note = "Read " + units.Format(*r.Conditions.RestedMin, units.Min, v.who.System) + " after the load."
	}
	if r.Barred() {
		d.Blocks = []block{words{Text: []string{r.Words(v.who.System)}}}
		return documentOf("/more", d), nil
	}
	for _, x := range r.Table {
		left := x.RemainingKm.Rounded(units.Km, v.who.System)
		t.Rows = append(t.Rows, row{Cells: []string{fmt.Sprintf("%.1f", x.RestV), left.Value, left.Between()}})
	}
	d.Blocks = []block{t, form}
	return documentOf("/more", d), nil
}
