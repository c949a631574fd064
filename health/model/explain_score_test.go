package model_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/simulate"
)

// score gathers errors as shares of the reference range, and how often the
// 90 % interval held.
type score struct {
	off    []float64
	hit, n int
}

func (s *score) add(d model.Draws, truth, scale float64, mean bool) {
	low, mid, high := model.Quantile(d, .05), model.Quantile(d, .5), model.Quantile(d, .95)
	if mean {
		mid = 0
		for _, v := range d {
			mid += v / float64(len(d))
		}
	}
	s.off = append(s.off, 100*(mid-truth)/scale)
	s.n++
	if truth >= low && truth <= high {
		s.hit++
	}
}

func (s *score) median() (abs, bias float64) {
	a := make([]float64, len(s.off))
	b := slices.Clone(s.off)
	for i, v := range b {
		a[i] = math.Abs(v)
	}
	slices.Sort(a)
	slices.Sort(b)
	return a[len(a)/2], b[len(b)/2]
}

func (s *score) share() float64 { return float64(s.hit) / float64(s.n) }

func (s *score) String() string {
	abs, bias := s.median()
	return fmt.Sprintf("error %.2f %% bias %+.2f held %.0f %% of %d", abs, bias, 100*s.share(), s.n)
}

// simulated returns the history, the fit and the truth of one invented pack.
func simulated(t *testing.T, style simulate.Style, seed uint64) (*logbook.History, *model.Fit, *simulate.Truth) {
	t.Helper()
	log, err := simulate.Run(simulate.Preset(style, seed))
	if err != nil {
		t.Fatal(err)
	}
	h, err := logbook.NewHistory("pack", log.Records, log.Truth.End)
	if err != nil {
		t.Fatal(err)
	}
	return h, model.FitHistory(h, nil), log.Truth
}

// seeds gives the seeds of a scoring run: SEEDS of them from FROM on.
func seeds(from, usual int) []uint64 {
	if f, err := strconv.Atoi(os.Getenv("FROM")); err == nil {
		from = f
	}
	var out []uint64
	for i := range envCount("SEEDS", usual) {
		out = append(out, uint64(from+i))
	}
	return out
}

func scoreStyles() []simulate.Style {
	var out []simulate.Style
	for _, s := range []simulate.Style{simulate.Rich, simulate.Flat, simulate.WallOnly, simulate.Messy} {
		if want := os.Getenv("STYLE"); want == "" || want == s.String() {
			out = append(out, s)
		}
	}
	return out
}

// What is asked of each cause's median error, percent of the reference range,
// over all styles of keeping a log; a few seeds scatter, so half as much again
// passes. Every interval holds its 90 %, give or take what so few rides leave.
var explainBounds = map[string]float64{"speed": 1.5, "wind": 5, "reference": 1.5, "ride": 2, "unexplained": 2}

func boundOf(name string) float64 {
	if v, ok := explainBounds[name]; ok {
		return 1.5 * v
	}
	return 1.5
}

func TestExplainAgainstTruth(t *testing.T) {
	all := map[string]*score{}
	for _, style := range scoreStyles() {
		by := map[string]*score{}
		put := func(name string, d model.Draws, truth, ref float64) {
			if by[name] == nil {
				by[name] = &score{}
			}
			by[name].add(d, truth, ref, true)
			if all[name] == nil {
				all[name] = &score{}
			}
			all[name].add(d, truth, ref, true)
		}
		var took time.Duration
		explained := 0
		for _, seed := range seeds(2001, 2) {
			h, fit, truth := simulated(t, style, seed)
			long := slices.DeleteFunc(slices.Clone(h.Rides), func(r *logbook.Ride) bool { return r.DistanceKm.Or(0) < 6 })
			step := max(1, len(long)/8)
			for k := step / 2; k < len(long); k += step {
				r := long[k]
				true, ok := truth.Ride(r.ID)
				if !ok {
					continue
				}
				start := time.Now()
				x, ok := fit.Explain(r)
				took += time.Since(start)
				explained++
				if !ok {
					t.Fatal("not explained", r.ID)
				}
				s := truth.Explain(true)
				put("reference", x.ReferenceKm, s.ReferenceKm, s.ReferenceKm)
				put("ride", x.RideKm, s.RideKm, s.ReferenceKm)
				put("unexplained", x.UnexplainedKm, s.UnexplainedKm, s.ReferenceKm)
				for i, cause := range model.Causes {
					put(cause, x.Km[i], s.Km[i], s.ReferenceKm)
				}
			}
		}
		for _, name := range append(slices.Clone(model.Causes[:]), "reference", "ride", "unexplained") {
			t.Logf("%-10s %-14s %v", style, name, by[name])
		}
		t.Logf("%s: %.0f ms an explanation", style, took.Seconds()*1000/float64(explained))
	}
	for name, s := range all {
		t.Logf("%-10s %-14s %v", "all", name, s)
		if err, _ := s.median(); err > boundOf(name) {
			t.Errorf("%s: median error %.2f %% of the reference range, want %.2f at most", name, err, boundOf(name))
		}
		if s.share() < .7 { // some sixty rides of eight packs go together
			t.Errorf("%s: the 90 %% interval holds %.0f %%", name, 100*s.share())
		}
	}
}
