package web

import (
	"io"
	"slices"
	"strconv"
	"time"

	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/gpx"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "POST " + importPath + "/track", serve: (*visit).trackStep})

// importTrack measures a GPS track and asks which ride it is of; nothing is
// kept yet.
func (v *visit) importTrack(in io.Reader, name string, ask importAsk) (reply, error) {
	l, p, err := v.meant(ask.pack)
	if err != nil {
		return nil, err
	}
	if p == nil {
		return v.importFault("This is a GPS track, and the log holds no pack that it could be of: add the pack first.", name, ask)
	}
	s, err := v.s.Desk.Track(in, name, p.ID, v.who)
	if err != nil {
		return nil, err
	}
	doc := document{Title: "Which ride is this?", Up: link{importPath, "Import"}}
	doc.Lead = "This is what " + name + " tells. No positions are kept, and nothing is logged yet."
	doc.Blocks = []block{v.wayFigures(s), v.ridingFigures(s)}
	if len(s.Series) > 0 {
		drawn, err := draw("Speed over distance", pictures.Pace(s, v.who.System))
		if err != nil {
			return nil, err
		}
		doc.Blocks = append(doc.Blocks, drawn)
	}
	var remarks notes
	for _, w := range s.Warnings {
		remarks.Text = append(remarks.Text, prose.Sentence(w.Text))
	}
	doc.Blocks = append(doc.Blocks, remarks)
	rides, err := v.ridesOf(l, p, s)
	if err != nil {
		return nil, err
	}
	form := sending{Path: importPath + "/track", Hidden: []pair{{"file", v.s.held.put(&heldFile{name: name, pack: p.ID, track: s})}}}
	fresh := pressing{"ride", "", "Log a new ride of " + nameOf(p)}
	for _, r := range rides {
		form.Buttons = append(form.Buttons, pressing{"ride", r.ID, "Fill in the ride of " + v.when(r.At)})
	}
	switch {
	case s.Start.IsZero(): // it does not say when a new ride would have begun
	case len(rides) > 0 && rides[0].At.Before(s.End) && s.Start.Before(logbook.EndOf(rides[0])):
		form.Buttons = append(form.Buttons, fresh)
	default:
		form.Buttons = append([]pressing{fresh}, form.Buttons...)
	}
	if len(form.Buttons) == 0 {
		doc.Blocks = append(doc.Blocks, words{Text: []string{"It has no times, and " + nameOf(p) + " has no ride that it could be of: log the ride first."}})
		return documentOf("/more", doc), nil
	}
	doc.Blocks = append(doc.Blocks, form)
	return documentOf("/more", doc), nil
}

// ridesOf lists the logged rides of the pack that a track may be of, the
// nearest first: those of about its time, since clocks may be set to other
// zones, or the last few where it has no times.
func (v *visit) ridesOf(l *loaded, p *logbook.Pack, s *gpx.Summary) ([]*logbook.Ride, error) {
	const most, slack = 3, 12 * time.Hour
	h, err := logbook.NewHistory(p.ID, l.records[p.ID], logbook.FarAhead)
	if err != nil {
		return nil, err
	}
	var out []*logbook.Ride
	for _, r := range slices.Backward(h.Rides) {
		if s.Start.IsZero() || s.Start.Sub(logbook.EndOf(r)) < slack && r.At.Sub(s.End) < slack {
			out = append(out, r)
		}
	}
	if !s.Start.IsZero() {
		slices.SortStableFunc(out, func(a, b *logbook.Ride) int {
			return int(a.At.Sub(s.Start).Abs().Seconds() - b.At.Sub(s.Start).Abs().Seconds())
		})
	}
	return out[:min(most, len(out))], nil
}

// trackFigure is a figure that a track tells, to so many decimals.
func (v *visit) trackFigure(label string, n logbook.Num, u units.Unit, decimals int) *figure {
	out := &figure{Label: label, Value: units.Unknown, Unknown: !n.OK}
	if n.OK {
		x, symbol := units.In(n.V, u, v.who.System)
		out.Value, out.Symbol = strconv.FormatFloat(x, 'f', decimals, 64), symbol
	}
	return out
}

func (v *visit) wayFigures(s *gpx.Summary) block {
	return figureGroup{Title: "The way", Rows: []*figure{
		v.trackFigure("Distance", s.DistanceKm, units.Km, 2), v.trackFigure("Climb", s.ClimbM, units.Metre, 0), v.trackFigure("Descent", s.DescentM, units.Metre, 0),
	}}
}

func (v *visit) ridingFigures(s *gpx.Summary) block {
	steady := &figure{Label: "Steady", Value: units.Unknown, Unknown: true}
	if s.SteadyShare.OK {
		steady = &figure{Label: "Steady", Value: strconv.FormatFloat(100*s.SteadyShare.V, 'f', 0, 64), Symbol: "%",
			Remark: "of the time within " + pictures.SpeedText(s.WithinKmh, v.who.System) + " of " + pictures.SpeedText(s.TargetKmh.V, v.who.System)}
	}
	rows := []*figure{v.trackFigure("Speed on the move", s.MovingSpeedKmh, units.Kmh, 1), steady,
		v.trackFigure("On the move", s.MovingMin, units.Min, 1), v.trackFigure("At rest", s.StoppedMin, units.Min, 1)}
	if n := len(s.Stops); n > 0 {
		rows[3].Remark = prose.Plural(n, "stop")
	}
	return figureGroup{Title: "The riding", Rows: rows}
}

// trackStep is each step of keeping what a track tells: to look at the ride, to
// change it, to keep it.
func (v *visit) trackStep() (reply, error) {
	if err := v.form(); err != nil {
		return nil, err
	}
	key, ride := v.PostFormValue("file"), v.PostFormValue("ride")
	f, ok := v.s.held.get(key)
	if !ok || f.track == nil {
		return v.importFault("That file was kept already, or was read too long ago. Choose it again.", "", importAsk{})
	}
	if err := v.read(nil); err != nil {
		return nil, err
	}
	d, stays, err := v.s.Desk.TrackRide(f.track, f.pack, ride, v.who)
	if err != nil {
		return nil, err
	}
	switch step := v.PostFormValue("step"); {
	case step == "change":
		return v.changeTracked(f, d, ride)
	case step == "keep" && (len(d.Slips) == 0 || v.PostFormValue("against") == "yes"):
		v.s.held.drop(key)
		done := "logged"
		if ride != "" {
			done = "amended"
		}
		return v.keep(d, done)
	}
	return v.lookAtTracked(key, ride, d, stays)
}

// changeTracked opens the ride in its form, filled with what the track tells.
func (v *visit) changeTracked(f *heldFile, d *Draft, ride string) (reply, error) {
	if ride == "" {
		return v.showForm(logbook.KindRide, f.pack, filling{values: v.shownAs(d.Record, true)}, "")
	}
	was, _, _, err := v.find(logbook.KindRide.String(), ride)
	if err != nil {
		return nil, err
	}
	return v.showAmendment(amendment{was, v.shown(d.Record)}, formFault{})
}

// lookAtTracked shows the ride as it would be kept, and what it keeps of its own.
func (v *visit) lookAtTracked(key, ride string, d *Draft, stays []string) (reply, error) {
	shows, err := v.shows(d.Record)
	if err != nil {
		return nil, err
	}
	data := lookView{
		Title: "Is this right?", Kind: logbook.KindRide.String(), Action: importPath + "/track", Lines: typed.Lines(d.Record, v.who, d.As), Shows: shows, Slips: d.Slips, Caution: d.Caution,
		There: d.There || d.Nothing, Up: link{importPath, "Import"}, Hidden: []pair{{"file", key}, {"ride", ride}}, Amends: ride != "",
	}
	if ride != "" {
		was, _, _, err := v.find(logbook.KindRide.String(), ride)
		if err != nil {
			return nil, err
		}
		data.Differences = v.difference(was, d.Record)
	}
	for _, words := range stays {
		data.Stays = append(data.Stays, prose.Sentence(words))
	}
	return view{title: data.Title, tab: "/log", layout: "look", data: data}, nil
}
