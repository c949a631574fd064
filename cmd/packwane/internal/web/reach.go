package web

import (
	"fmt"
	"math"
	"net/http"
	"strings"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /reach", title: "How far from here?", menu: menuAnswers, about: "a voltage in; what is left and where to turn back out", ofPack: true, serve: (*visit).reach})
var _ = addPage(page{pattern: "GET /tape", title: "Voltage table", menu: menuAnswers, about: "volts against kilometres, to print for the board", ofPack: true, serve: (*visit).tape})

var reachAsks = []quantityAsk{
	{"rest", "volts at rest, now", units.Volt, .5, 1000, "of the whole pack"}, {"rested", "rested since the load", units.Min, 0, 100000, "else long"},
	{"wh", "energy used since full", units.Wh, 0, 100000, ""}, {"out", "ridden from home", units.Km, 0, 1000, "the way back as long"},
	{"temp", "air temperature", units.Celsius, -30, 50, "else the season's"}, {"wind", "wind against, on the way out", units.Kmh, -80, 80, ""},
}

var reachMore = []quantityAsk{
	{"ah", "charge used since full", units.Ah, 0, 10000, ""}, {"climb", "still to climb", units.Metre, 0, 5000, "none of it is counted to come back"},
	{"speed", "moving speed", units.Kmh, 3, 100, ""}, {"tyre", "tyre pressure", units.Kpa, 50, 1200, ""}, {"rider", "rider with gear", units.Kg, 15, 250, ""},
	{"risk", "how often home may not be reached", units.Pct, .1, 50, "5 % where nothing is said"},
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
	form := asking{Path: "/reach", Hidden: []pair{{"pack", p.ID}}, Inputs: sight, More: []inputGroup{{Title: "More about it", Open: len(others) > 0 || !fine, Inputs: more}}, Button: "How far?"}
	if why := cellNotPack(values["rest"], p); why != "" {
		sight[0].Error, ok = why, false
	}
	d := v.documentAbout(l, a, "How far from here?")
	d.Cautions = []string{limitOf(a, v.who.System).caution}
	if !ok || !fine {
		d.Blocks = []block{form}
		out := documentOf("/more", d)
		out.status = http.StatusBadRequest
		return out, nil
	}
	s := standing(values)
	if !s.RestV.OK && !s.UsedAh.OK && !s.UsedWh.OK {
		d.Blocks = []block{form}
		return documentOf("/more", d), nil
	}
	r := report.ReachOf(a.history, a.fit(), s)
	f := v.figures(r.Warnings)
	d.Lead = sentence(v.reachConditions(r))
	d.Cautions = r.Cautions
	d.Blocks = []block{reachBigs(f, r), words{Text: []string{reachWords(r, v.who.System)}}, leftGroup(f, r, limitOf(a, v.who.System).name), homeGroup(f, r), f.rest(), form}
	return documentOf("/more", d), nil
}

func standing(x map[string]logbook.Num) model.Standing {
	return model.Standing{
		RestV: x["rest"], RestedMin: x["rested"], UsedAh: x["ah"], UsedWh: x["wh"], OutKm: x["out"], ClimbM: x["climb"].Or(0), Risk: x["risk"].Or(5) / 100,
		Way: model.Way{AirC: x["temp"], HeadwindKmh: x["wind"], SpeedKmh: x["speed"], TyreKpa: x["tyre"], RiderKg: x["rider"]},
	}
}

// cellNotPack says where the volts of one cell were given for those of a pack.
func cellNotPack(volts logbook.Num, p *logbook.Pack) string {
	if !volts.OK || !p.Series.OK {
		return ""
	}
	if cell := volts.V / p.Series.V; cell >= 1.5 && cell <= 4.6 {
		return ""
	}
	return "Want the volts of the pack of " + logbook.FormatNumber(p.Series.V) + " cells in series, not of one cell."
}

func (v *visit) reachConditions(r *report.Reach) string {
	sys, c := v.who.System, r.Conditions
	parts := []string{"At " + units.Format(c.SpeedKmh, units.Kmh, sys), units.Format(math.Round(c.TempC), units.Celsius, sys), "a rider of " + units.Format(c.RiderKg, units.Kg, sys)}
	switch {
	case c.HeadwindKmh > 0:
		parts = append(parts, units.Format(c.HeadwindKmh, units.Kmh, sys)+" of wind against on the way out")
	case c.HeadwindKmh < 0:
		parts = append(parts, units.Format(-c.HeadwindKmh, units.Kmh, sys)+" of wind behind on the way out")
	default:
		parts = append(parts, "no wind")
	}
	if c.ClimbM > 0 {
		parts = append(parts, units.Format(c.ClimbM, units.Metre, sys)+" still to climb")
	}
	return strings.Join(parts, ", ")
}

func leftGroup(f *figures, r *report.Reach, limit string) figureGroup {
	codes := []string{"range_unknown", "no_road_rides", "capacity_unknown"}
	g := figureGroup{Title: "Left above " + limit + " under load", Rows: []*figure{
		f.of("On one ride", r.ThisRideKm, units.Km, codes...), f.of("Energy", r.RemainingWh, units.Wh, "capacity_unknown"),
		f.of("Charge", r.LevelPct, units.Pct, "capacity_unknown", "series_unknown", "voltage_tells_little"),
	}}
	if r.DayPct != nil {
		g.Rows = append(g.Rows, f.of("Today takes more by", r.DayPct, units.Pct))
	}
	return g
}

func homeGroup(f *figures, r *report.Reach) block {
	if r.TurnBackKm == nil {
		return notes{}
	}
	g := figureGroup{Title: "Out and back", Rows: []*figure{f.given("Turn back after", downTenth(*r.TurnBackKm), units.Km, "farther out", *r.TurnBackKm == 0 && r.OutKm > 0)}}
	if r.TurnBackV != nil {
		g.Rows = append(g.Rows, f.given("Or at rest volts of", math.Round(*r.TurnBackV*10)/10, units.Volt, "", false))
	}
	if r.HomePct != nil {
		g.Rows = append(g.Rows, f.given("Home, turning now", math.Round(*r.HomePct), units.Pct, "reached above the limit", *r.HomePct < 100-r.RiskPct))
	}
	return g
}

// reachBigs are what the rider looks for at the kerb.
func reachBigs(f *figures, r *report.Reach) block {
	out := bigs{Rows: []*figure{f.of("left, on average", r.RemainingKm, units.Km, "range_unknown", "no_road_rides", "capacity_unknown")}}
	if r.TurnBackKm != nil {
		out.Rows = append(out.Rows, f.given("turn back after", downTenth(*r.TurnBackKm), units.Km, "", false))
	}
	return out
}

// downTenth drops what a rider cannot hold to.
func downTenth(km float64) float64 { return math.Floor(km*10) / 10 }

func reachWords(r *report.Reach, sys units.System) string {
	if r.RemainingKm == nil {
		return "How far that goes, the log does not tell yet."
	}
	text := "About " + interval(r.RemainingKm, units.Km, sys) + " are left"
	if r.TurnBackKm == nil {
		return text + "."
	}
	sure := fmt.Sprintf("%.3g %%", 100-r.RiskPct)
	switch {
	case *r.TurnBackKm > 0 && r.TurnBackV != nil:
		text += ". Out and back, turn after " + units.Format(downTenth(*r.TurnBackKm), units.Km, sys) + " more, or at " + units.Format(math.Round(*r.TurnBackV*10)/10, units.Volt, sys) + " at rest: home is then reached above the limit with " + sure
	case *r.TurnBackKm > 0:
		text += ". Out and back, turn after " + units.Format(downTenth(*r.TurnBackKm), units.Km, sys) + " more: home is then reached above the limit with " + sure
	case r.OutKm > 0:
		text += ". Turn back now: home is not reached above the limit with " + sure
	default:
		text += ". Do not set out"
	}
	return text + "."
}

var tapeAsks = []quantityAsk{
	{"temp", "air temperature", units.Celsius, -30, 50, "else the season's"}, {"rested", "rested since the load", units.Min, 0, 100000, "else long"}, {"wind", "wind against", units.Kmh, -80, 80, ""},
}

// tape is a table of volts against kilometres.
func (v *visit) tape() (reply, error) {
	l, a, err := v.answersFor(v.FormValue("pack"))
	if a == nil || err != nil {
		return v.noPack(), err
	}
	inputs, values, ok := v.askedWith(tapeAsks)
	d := v.documentAbout(l, a, "Voltage table")
	form := asking{Path: "/tape", Hidden: []pair{{"pack", a.history.Pack.ID}}, Inputs: inputs, Button: "Make the table"}
	if !ok {
		d.Blocks = []block{form}
		out := documentOf("/more", d)
		out.status = http.StatusBadRequest
		return out, nil
	}
	s := standing(values)
	r := report.ReachOf(a.history, a.fit(), s)
	r.Tape(a.history, a.fit(), s)
	d.Lead = sentence(v.reachConditions(r))
	d.Cautions = r.Cautions
	t := tableBlock{Caption: "Left above " + limitOf(a, v.who.System).name + " under load, by the volts at rest", Heads: []string{"V at rest", units.Symbol(units.Km, v.who.System) + " left", "90 %"}}
	t.Note = "Read after a long rest; a minute after load it reads lower."
	if r.Conditions.RestedMin != nil {
		t.Note = "Read " + units.Format(*r.Conditions.RestedMin, units.Min, v.who.System) + " after the load."
	}
	for _, x := range r.Table {
		cells := []string{fmt.Sprintf("%.1f", x.RestV), unknown, ""}
		if x.RemainingKm != nil {
			w := rounded(x.RemainingKm, units.Km, v.who.System)
			cells[1], cells[2] = w.Value, between(w.Low, w.High, "more", "less")
		}
		t.Rows = append(t.Rows, row{Cells: cells})
	}
	d.Blocks = []block{t, form}
	return documentOf("/more", d), nil
}
