package web

import (
	"errors"
	"slices"

	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/store"
)

var _ = addPage(page{pattern: "GET /explain", title: "Why this ride?", menu: menuAnswers, about: "what made a ride shorter or longer", ofPack: true, serve: (*visit).explain})

// explain answers about the ride of the address; without one it offers the
// latest.
func (v *visit) explain() (reply, error) {
	id := v.FormValue("ride")
	if id == "" {
		return v.chooseRide()
	}
	a, ride, err := v.rideNamed(id)
	if err != nil {
		return nil, err
	}
	h, fit := a.history, a.fit()
	if life := report.LifeOf(h, ride.At); life != h {
		h, fit = life, v.s.memory.alone(life)
	}
	x, err := report.ExplainOf(h, fit, ride)
	if err != nil {
		return nil, wrong(prose.Sentence(err.Error()))
	}
	if !x.Known() {
		return nil, wrong(prose.Sentence(x.Warnings[0].TextIn(v.who.System)))
	}
	d := document{
		Title: "Why this ride?", Lead: v.when(ride.At) + ": " + typed.Summary(ride, v.who), Up: link{recordPath(ride), "The ride"},
		Grave: v.grave(a), Cautions: []string{v.limitCaution(a)},
	}
	picture, err := draw("Cause by cause", pictures.Explained(x, v.who.System))
	if err != nil {
		return nil, err
	}
	f := v.figures(x.Warnings)
	d.Blocks = []block{words{Text: []string{x.Words(v.who.System)}}, picture, figureGroup{Title: "The shares", Rows: f.lines(x.Lines())}, v.assumptions(x), f.rest()}
	return documentOf("/more", d), nil
}

func (v *visit) assumptions(x *report.Explain) notes {
	out := notes{Title: "What was assumed"}
	for _, a := range x.Assumptions {
		out.Text = append(out.Text, prose.Sentence(a.Words(v.who.System)))
	}
	return out
}

// rideNamed loads the pack of a ride, and finds the ride in its history.
func (v *visit) rideNamed(id string) (*answers, *logbook.Ride, error) {
	nowhere := &problem{404, "No such ride", "The log holds no ride of that id."}
	pack := ""
	err := v.read(func(s *store.Store) error {
		r, err := s.Get(logbook.KindRide, id)
		if errors.Is(err, store.ErrNotFound) || err == nil && logbook.HeadOf(r).Removed {
			return nowhere
		}
		if err == nil {
			pack = logbook.PackOf(r)
		}
		return err
	})
	if err != nil {
		return nil, nil, err
	}
	if pack == "" {
		return nil, nil, nowhere
	}
	_, a, err := v.one(pack)
	if err != nil {
		return nil, nil, err
	}
	for _, r := range a.history.Rides {
		if r.ID == id {
			return a, r, nil
		}
	}
	return nil, nil, nowhere // it lies in the future
}

// chooseRide lists the latest rides of a pack.
func (v *visit) chooseRide() (reply, error) {
	l, a, err := v.answersFor(v.FormValue("pack"))
	if a == nil || err != nil {
		return v.noPack(), err
	}
	d := document{Packs: packChoices(l, a.history.Pack.ID, "/explain"), Title: "Why this ride?", Lead: "Choose a ride of " + nameOf(a.history.Pack) + ".", Up: link{address("/pack", "id", a.history.Pack.ID), nameOf(a.history.Pack)}}
	var list words
	for _, r := range slices.Backward(a.history.Rides) {
		if r.DistanceKm.OK && len(list.Links) < 30 {
			list.Links = append(list.Links, link{address("/explain", "ride", r.ID), v.when(r.At) + ": " + typed.Summary(r, v.who)})
		}
	}
	if len(list.Links) == 0 {
		list.Text = []string{"No ride with a distance is logged yet."}
	}
	d.Blocks = []block{list}
	return documentOf("/more", d), nil
}
