package model_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// shortLog is a simulated log of some weeks with everything written down, each
// record a copy that may be changed.
func shortLog(t testing.TB, style simulate.Style, years float64) (pack string, records []logbook.Record, end time.Time) {
	cfg := simulate.Preset(style, firstKeptBack)
	cfg.Years = years
	log, err := simulate.Run(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return cfg.Pack.ID, log.Records, log.Truth.End
}

// copyOf returns a copy of a record that can be changed alone.
func copyOf(t testing.TB, r logbook.Record) logbook.Record {
	out, err := logbook.ParseJSON(logbook.AppendJSON(nil, r))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func copiesOf(t testing.TB, records []logbook.Record) []logbook.Record {
	out := make([]logbook.Record, len(records))
	for i, r := range records {
		out[i] = copyOf(t, r)
	}
	return out
}

// TestEveryFieldMissing leaves out every optional field of every kind in turn,
// driven by the field tables: no panic, no NaN, intervals that hold their value.
func TestEveryFieldMissing(t *testing.T) {
	pack, records, end := shortLog(t, simulate.Rich, .1)
	type missing struct {
		kind  logbook.Kind
		field logbook.Field
	}
	var all []missing
	for _, kind := range []logbook.Kind{logbook.KindPack, logbook.KindBoard, logbook.KindRide, logbook.KindCharge, logbook.KindCheck} {
		for _, f := range logbook.Fields(kind) {
			if !f.Required && f.Name != "id" && f.Name != "rev" && f.Name != "removed" {
				all = append(all, missing{kind, f})
			}
		}
	}
	inParallel(len(all), func(i int) {
		m := all[i]
		without := copiesOf(t, records)
		for _, r := range without {
			if r.Kind() == m.kind {
				if err := m.field.SetText(r, ""); err != nil {
					t.Error(err)
				}
			}
		}
		if err := soundness(pack, without, end, false); err != nil {
			t.Errorf("without %s of every %s: %v", m.field.Name, m.kind, err)
		}
	})
}

// TestAdverseLogs asks everything of logs that are odd as a whole.
func TestAdverseLogs(t *testing.T) {
	pack, records, end := shortLog(t, simulate.Rich, .3)
	some := logbook.Some
	keep := func(kinds ...logbook.Kind) func([]logbook.Record) []logbook.Record {
		return func(all []logbook.Record) (out []logbook.Record) {
			for _, r := range all {
				for _, k := range append(kinds, logbook.KindPack, logbook.KindBoard) {
					if r.Kind() == k {
						out = append(out, r)
					}
				}
			}
			return out
		}
	}
	each := func(f func(logbook.Record)) func([]logbook.Record) []logbook.Record {
		return func(all []logbook.Record) []logbook.Record {
			for _, r := range all {
				f(r)
			}
			return all
		}
	}
	onPack := func(f func(*logbook.Pack)) func([]logbook.Record) []logbook.Record {
		return each(func(r logbook.Record) {
			if p, ok := r.(*logbook.Pack); ok {
				f(p)
			}
		})
	}
	cells := func(series, parallel float64) func([]logbook.Record) []logbook.Record {
		return onPack(func(p *logbook.Pack) {
			p.Series, p.Parallel, p.LimitV, p.CutoffV = some(series), some(parallel), some(3*series), some(2.6*series)
		})
	}
	at := time.Date(2024, 5, 1, 12, 0, 0, 0, time.UTC)
	cases := map[string]func([]logbook.Record) []logbook.Record{
		"as simulated":     each(func(logbook.Record) {}),
		"no records":       keep(),
		"no pack data":     onPack(func(p *logbook.Pack) { *p = logbook.Pack{Head: p.Head} }),
		"rides only":       keep(logbook.KindRide),
		"charges only":     keep(logbook.KindCharge),
		"checks only":      keep(logbook.KindCheck),
		"no rides":         keep(logbook.KindCharge, logbook.KindCheck),
		"first ride alone": func(all []logbook.Record) []logbook.Record { return keep(logbook.KindRide)(all)[:3] },
		"first charge alone": func(all []logbook.Record) []logbook.Record {
			return keep(logbook.KindCharge)(all)[:3]
		},
		"1s1p":   cells(1, 1),
		"1s20p":  cells(1, 20),
		"30s1p":  cells(30, 1),
		"30s20p": cells(30, 20),
		"out of order": func(all []logbook.Record) []logbook.Record {
			rand.New(rand.NewPCG(1, 2)).Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
			return all
		},
		"all at one moment": each(func(r logbook.Record) { setTimes(r, at, at, at) }),
		"all on one day": func() func([]logbook.Record) []logbook.Record {
			now := at
			return each(func(r logbook.Record) {
				now = now.Add(4 * time.Minute)
				setTimes(r, now.Add(-3*time.Minute), now, now.Add(2*time.Minute))
			})
		}(),
		"no distance": each(func(r logbook.Record) {
			if ride, ok := r.(*logbook.Ride); ok {
				ride.DistanceKm, ride.OdometerKm, ride.MovingSpeedKmh, ride.MovingMin = logbook.Num{}, logbook.Num{}, logbook.Num{}, logbook.Num{}
			}
		}),
		"no distance and no board": each(func(r logbook.Record) {
			switch r := r.(type) {
			case *logbook.Ride:
				r.DistanceKm, r.OdometerKm, r.MovingSpeedKmh, r.MovingMin, r.Board = logbook.Num{}, logbook.Num{}, logbook.Num{}, logbook.Num{}, ""
			case *logbook.Pack:
				r.Board = ""
			}
		}),
		"constant rides": each(func(r logbook.Record) {
			if ride, ok := r.(*logbook.Ride); ok {
				*ride = logbook.Ride{Head: ride.Head, Pack: ride.Pack, Board: ride.Board, At: ride.At, DistanceKm: some(10), DischargedAh: some(5), DischargedWh: some(180), MovingSpeedKmh: some(20), AmbientC: some(20), StartRestV: some(41), EndRestV: some(38)}
			}
		}),
		"every ride to the limit": each(func(r logbook.Record) {
			if ride, ok := r.(*logbook.Ride); ok {
				ride.Stop = "limit"
			}
		}),
		"cells replaced midway":     addService(pack, "cells_replaced", end.AddDate(0, 0, -50)),
		"cells replaced at the end": addService(pack, "cells_replaced", end.Add(-time.Minute)),
		"cells replaced first":      addService(pack, "cells_replaced", at.AddDate(-2, 0, 0)),
		"in service after the end":  onPack(func(p *logbook.Pack) { p.InService = end.AddDate(3, 0, 0).Truncate(24 * time.Hour) }),
		"in service long ago":       onPack(func(p *logbook.Pack) { p.InService = time.Date(1971, 1, 1, 0, 0, 0, 0, time.UTC) }),
		"a hundred thousand cycles": onPack(func(p *logbook.Pack) { p.CyclesBefore = some(100_000) }),
		"as new is a tenth":         onPack(func(p *logbook.Pack) { p.AsnewAh = some(.1 * p.CellCapacityAh.V * p.Parallel.V) }),
		"as new is tenfold":         onPack(func(p *logbook.Pack) { p.AsnewAh = some(10 * p.CellCapacityAh.V * p.Parallel.V) }),
		"limit above full": onPack(func(p *logbook.Pack) {
			p.LimitV, p.CutoffV, p.CellFullV = some(4.5*p.Series.V), logbook.Num{}, logbook.Num{}
		}),
		"limit next to nothing": onPack(func(p *logbook.Pack) { p.LimitV, p.CutoffV = some(.01), logbook.Num{} }),
		"every figure ten times too large": each(func(r logbook.Record) {
			switch r := r.(type) {
			case *logbook.Ride:
				scale(10, &r.DistanceKm, &r.DischargedAh, &r.DischargedWh, &r.StartRestV, &r.EndRestV, &r.MovingSpeedKmh)
			case *logbook.Charge:
				scale(10, &r.ChargedAh, &r.ChargedWh, &r.StartRestV, &r.EndRestV)
			}
		}),
		"every second figure ten times too large": func() func([]logbook.Record) []logbook.Record {
			n := 0
			return each(func(r logbook.Record) {
				if n++; n%2 == 0 {
					return
				}
				switch r := r.(type) {
				case *logbook.Ride:
					scale(10, &r.DistanceKm, &r.DischargedAh, &r.DischargedWh, &r.StartRestV, &r.EndRestV, &r.MovingSpeedKmh)
				case *logbook.Charge:
					scale(10, &r.ChargedAh, &r.ChargedWh, &r.StartRestV, &r.EndRestV)
				}
			})
		}(),
	}
	for name, change := range cases {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			changed := change(copiesOf(t, records))
			if err := soundness(pack, changed, end.AddDate(0, 1, 0), envCount("PACKWANE_LONG", 0) > 0); err != nil {
				t.Error(err)
			}
		})
	}
}

func scale(by float64, figures ...*logbook.Num) {
	for _, f := range figures {
		f.V *= by
	}
}

func addService(pack, what string, at time.Time) func([]logbook.Record) []logbook.Record {
	return func(all []logbook.Record) []logbook.Record {
		return append(all, &logbook.Service{Head: logbook.Head{ID: "added", Rev: 1}, Pack: pack, At: at, What: what})
	}
}

// setTimes moves a record in time: start and end of a ride or a charge, the
// moment of anything else.
func setTimes(r logbook.Record, start, moment, end time.Time) {
	switch r := r.(type) {
	case *logbook.Ride:
		r.At, r.End = moment, end
	case *logbook.Charge:
		r.Start, r.At = start, moment
	case *logbook.Check:
		r.At = moment
	case *logbook.Service:
		r.At, r.Until = moment, time.Time{}
	case *logbook.Setup:
		r.At = moment
	}
}
