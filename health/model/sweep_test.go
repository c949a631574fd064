package model

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// TestEveryScalarMovesSomething: one that moved no part would have no derivative.
func TestEveryScalarMovesSomething(t *testing.T) {
	for j, moves := range scalarParts {
		if moves == 0 {
			t.Errorf("scalar %d moves nothing", j)
		}
	}
}

// TestSweepMatchesPlainPasses holds the derivatives against passes over the whole
// log with one parameter moved at a time and everything worked out anew.
func TestSweepMatchesPlainPasses(t *testing.T) {
	for _, style := range simulate.Styles {
		cfg := simulate.Preset(style, 40411)
		cfg.Years = 1.5
		log, err := simulate.Run(cfg)
		if err != nil {
			t.Fatal(err)
		}
		h, err := logbook.NewHistory(cfg.Pack.ID, log.Records, logbook.EndOf(log.Records[len(log.Records)-1]))
		if err != nil {
			t.Fatal(err)
		}
		f := newFitter(prepare(h))
		f.step = numberStep // the curves have corners, over which longer steps do not agree
		f.p.felt = make([]felt, len(f.m.events))
		z := f.start()
		for range 2 { // with some steps made, parameters lie apart
			f.cost(z)
			a, g := f.normal(z)
			wantA, wantG := f.plainNormal(z)
			// within a hundredth of a standard deviation: at a corner, sides are taken
			for i := range z {
				sd := math.Sqrt(wantA.At(i, i) + 1)
				if math.Abs(g[i]-wantG[i]) > .01*sd {
					t.Errorf("%s: gradient by %s is %.6g, want %.6g", style, f.m.params[i].name, g[i], wantG[i])
				}
				for j := range i + 1 {
					if math.Abs(a.At(j, i)-wantA.At(j, i)) > .003*sd*math.Sqrt(wantA.At(j, j)+1) {
						t.Errorf("%s: normal matrix at %s, %s is %.6g, want %.6g", style, f.m.params[j].name, f.m.params[i].name, a.At(j, i), wantA.At(j, i))
					}
				}
			}
			minimise(f, z, 1e3, mostIterations)
		}
	}
}

// plainNormal is normal without any of its savings.
func (f *fitter) plainNormal(z []float64) (*mat.SymDense, []float64) {
	p, m := &f.p, f.m
	run := func(z []float64) []float64 {
		keep := p.c
		p.c = new(cellState)
		m.decode(z, p.c)
		var st state
		var out []float64
		for i := range m.events {
			var row [mostObservations]float64
			var f felt
			p.feel(i, &f, everyPart)
			p.eventThat(i, &f, &st, row[:])
			from, to := p.rowsOf(i)
			out = append(out, row[:to-from]...)
		}
		var beside [mostBeside]float64
		p.beside(beside[:])
		out = append(out, beside[:p.besides()]...)
		p.c = keep
		return out
	}
	resid := run(z)
	cols := make([]column, len(z))
	for j := range z {
		if f.windows[j][0] == f.windows[j][1] {
			continue
		}
		keep := z[j]
		z[j] += f.step
		cols[j].d = run(z)
		z[j] = keep
		for k := range cols[j].d {
			cols[j].d[k] = (cols[j].d[k] - resid[k]) / f.step
		}
	}
	sum := newNormalSum(len(z))
	sum.add(cols, resid)
	return sum.a, sum.g
}
