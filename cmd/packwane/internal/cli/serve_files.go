package cli

import (
	"context"
	"io"

	"packwane/cmd/packwane/internal/typed"
	"packwane/cmd/packwane/internal/web"
	"packwane/health/gpx"
	"packwane/health/logbook"
	"packwane/health/trace"
	"packwane/store"
)

// Trace reads a time series for the page as the command trace does.
func (k desk) Trace(ctx context.Context, r io.Reader, ask web.TraceAsk, who typed.Rider) (*web.TraceDraft, error) {
	a := k.at(who)
	o := trace.Options{Zone: who.Now.Location(), Map: ask.Map, Start: ask.Start, End: ask.Closed}
	on, err := a.traceFor(ask.Pack, &o)
	if err != nil {
		return nil, err
	}
	read, err := trace.Read(ctx, r, o, nil)
	if err != nil {
		return nil, traceFault(ask.Name, err)
	}
	d := &web.TraceDraft{Pack: on.pack, Read: read, Count: map[logbook.Kind]int{}}
	var fresh []logbook.Record
	err = a.reconcile(read, on, func(r logbook.Record) error {
		fresh = append(fresh, r)
		d.Count[r.Kind()]++
		return nil
	})
	if err != nil {
		return nil, err
	}
	d.Keep = func(saveMap bool) (store.Summary, error) {
		a := k.at(who)
		a.now = k.clock()
		return a.keepTrace(tracing{saveMap: saveMap}, on, read, toAdd{d.Count, entriesOf(fresh, ask.Name), ask.Name})
	}
	return d, nil
}

// Track measures a GPS track for the page as the command track does.
func (k desk) Track(r io.Reader, name, pack string, who typed.Rider) (*gpx.Summary, error) {
	t := tracking{pack: pack}
	on, err := k.at(who).trackFor(t)
	if err != nil {
		return nil, err
	}
	o, err := t.options(on)
	if err != nil {
		return nil, err
	}
	read, err := gpx.Read(r, name)
	if err != nil {
		return nil, err
	}
	return gpx.Analyse(read, o), nil
}

// TrackRide makes a draft of what a track tells, of a new ride of the pack or
// of the logged ride with that id.
func (k desk) TrackRide(s *gpx.Summary, pack, ride string, who typed.Rider) (*web.Draft, []string, error) {
	a := k.at(who)
	t := tracking{pack: pack}
	if ride != "" {
		t = tracking{ride: ride}
	}
	on, err := a.trackFor(t)
	if err != nil {
		return nil, nil, err
	}
	on.who = who
	kept, err := a.draftTrack(s, on)
	if err != nil {
		return nil, nil, err
	}
	var stays []string
	for _, o := range kept.other {
		stays = append(stays, keptWords(o, who))
	}
	return k.draft(kept.d, on.verb()), stays, nil
}
