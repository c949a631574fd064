package charts

import (
	"math"
	"math/rand"
	"testing"
)

// TestThinnerKeepsPeaks feeds a long noisy channel with single-row peaks: however long it is, no more than eight
// times Buckets rows are kept, all of them rows that came, in their order, with the first, the last, the highest and
// the lowest among them, and within each stretch of a 1000th of X the extremes too.
func TestThinnerKeepsPeaks(t *testing.T) {
	for _, rows := range []int{1, 2, 3, 999, 4001, 50000, 700000} {
		r := rand.New(rand.NewSource(int64(rows)))
		th := Thinner{Buckets: 1000}
		ys := make([]float64, rows)
		for i := range ys {
			ys[i] = math.Sin(float64(i)/5000) + 0.01*r.NormFloat64()
			if r.Intn(10000) == 0 {
				ys[i] += 5 * (r.Float64() - 0.5)
			}
			th.Add(float64(i), ys[i])
		}
		got := th.Points()
		if len(got) > 8*1000 || th.Rows() != int64(rows) {
			t.Fatalf("%d rows: %d kept, %d counted", rows, len(got), th.Rows())
		}
		for i, p := range got {
			if ys[int(p.X)] != p.Y || p.Break || i > 0 && p.X <= got[i-1].X {
				t.Fatalf("%d rows: kept %v after %v, which came as %v", rows, p, got[max(i-1, 0)], ys[int(p.X)])
			}
		}
		if got[0].X != 0 || got[len(got)-1].X != float64(rows-1) {
			t.Errorf("%d rows: kept from %v to %v", rows, got[0].X, got[len(got)-1].X)
		}
		var all, kept [1000]reach
		for i, y := range ys {
			all[i*1000/rows].add(y)
		}
		for _, p := range got {
			kept[int(p.X)*1000/rows].add(p.Y)
		}
		for i := range all {
			// A stretch of the thinner may straddle two of the test's: compare with the neighbours too.
			var near reach
			for j := max(i-2, 0); j <= min(i+2, 999); j++ {
				if kept[j].any {
					near.add(kept[j].low, kept[j].high)
				}
			}
			if all[i].any && (near.high < all[i].high || near.low > all[i].low) {
				t.Fatalf("%d rows: the extremes %v of stretch %d are lost: %v", rows, all[i], i, near)
			}
		}
	}
}

// TestThinnerBreaks: gaps, absent values and a clock that jumps back part the line; a flood of them does not grow the
// memory.
func TestThinnerBreaks(t *testing.T) {
	breaks := func(ps []XY) (at []float64) {
		for _, p := range ps {
			if p.Break {
				at = append(at, p.X)
			}
		}
		return at
	}
	gaps := Thinner{GapX: 10}
	for i := range 100 {
		x := float64(i)
		if i >= 50 {
			x += 1000
		}
		gaps.Add(x, 1)
	}
	if got := breaks(gaps.Points()); len(got) != 1 || got[0] != 1050 {
		t.Errorf("gap: breaks at %v", got)
	}
	var absent Thinner
	absent.Add(math.NaN(), 1)
	for i := range 10 {
		absent.Add(float64(i), []float64{3, math.NaN()}[(i/5)%2])
	}
	absent.Add(20, 3)
	if got := breaks(absent.Points()); len(got) != 1 || got[0] != 20 {
		t.Errorf("absent: breaks at %v", got)
	}
	var back Thinner
	for _, x := range []float64{5, 6, 7, 1, 2, 3} {
		back.Add(x, x)
	}
	if got := breaks(back.Points()); len(got) != 1 || got[0] != 1 {
		t.Errorf("clock: breaks at %v", got)
	}
	wild, r := Thinner{Buckets: 50, GapX: 1e-3}, rand.New(rand.NewSource(2))
	for range 20000 {
		wild.Add(anyNumber(r), anyNumber(r))
		if n := len(wild.kept); n > 101 {
			t.Fatalf("%d buckets kept", n)
		}
	}
	if len(wild.Points()) > 400 {
		t.Errorf("%d points kept of a wild file", len(wild.Points()))
	}
	if ps := new(Thinner).Points(); len(ps) != 0 {
		t.Errorf("an empty file has points %v", ps)
	}
}

func TestThinLine(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	var ps []pt
	for i := range 100000 {
		ps = append(ps, pt{float64(i) / 200, r.NormFloat64()})
	}
	ps[77777].y = 99
	got := thinLine(ps)
	if len(got) > 4*1001 {
		t.Errorf("%d places left", len(got))
	}
	var all, left reach
	for _, p := range ps {
		all.add(p.y)
	}
	for i, p := range got {
		left.add(p.y)
		if i > 0 && p.x < got[i-1].x {
			t.Fatal("order lost")
		}
	}
	if all != left {
		t.Errorf("extremes %v, want %v", left, all)
	}
	few := []pt{{0, 1}, {0.1, 1}, {0.2, 1}}
	if n := len(thinLine(few)); n != 2 {
		t.Errorf("three level places within one bucket become %d, want 2", n)
	}
}

// TestClipSegment: known cuts of the square from 0 to 10.
func TestClipSegment(t *testing.T) {
	b := box{0, 0, 10, 10}
	for _, c := range []struct {
		p, q, from, to pt
		ok             bool
	}{
		{pt{1, 1}, pt{9, 9}, pt{1, 1}, pt{9, 9}, true},
		{pt{-5, 5}, pt{15, 5}, pt{0, 5}, pt{10, 5}, true},
		{pt{-5, -5}, pt{15, 15}, pt{0, 0}, pt{10, 10}, true},
		{pt{5, 1e9}, pt{5, -1e9}, pt{5, 10}, pt{5, 0}, true},
		{pt{-1, 5}, pt{-1, 7}, pt{}, pt{}, false},
		{pt{-5, 6}, pt{6, 17}, pt{}, pt{}, false},
		{pt{5, 5}, pt{5, 5}, pt{5, 5}, pt{5, 5}, true},
	} {
		from, to, ok := clipSegment(b, c.p, c.q)
		if ok != c.ok || ok && (from != c.from || to != c.to) {
			t.Errorf("%v to %v: %v to %v, %v", c.p, c.q, from, to, ok)
		}
	}
}

// TestClipPolygon: the area of random triangles within a square, by the shoelace formula, against a count of places
// in both.
func TestClipPolygon(t *testing.T) {
	b := box{0, 0, 10, 10}
	r := rand.New(rand.NewSource(5))
	side := func(p, q, at pt) float64 { return (q.x-p.x)*(at.y-p.y) - (q.y-p.y)*(at.x-p.x) }
	for range 200 {
		tri := make([]pt, 3)
		for i := range tri {
			tri[i] = pt{r.Float64()*30 - 10, r.Float64()*30 - 10}
		}
		got := 0.0
		ps := clipPolygon(b, append([]pt(nil), tri...))
		for i, p := range ps {
			q := ps[(i+1)%len(ps)]
			got += (p.x*q.y - q.x*p.y) / 2
			if !b.contains(p) {
				t.Fatalf("%v lies outside", p)
			}
		}
		const n = 200
		count := 0
		for i := range n * n {
			at := pt{(float64(i%n) + 0.5) * 10 / n, (float64(i/n) + 0.5) * 10 / n}
			s0, s1, s2 := side(tri[0], tri[1], at), side(tri[1], tri[2], at), side(tri[2], tri[0], at)
			if s0 > 0 && s1 > 0 && s2 > 0 || s0 < 0 && s1 < 0 && s2 < 0 {
				count++
			}
		}
		if want := float64(count) * 100 / n / n; math.Abs(math.Abs(got)-want) > 0.5 {
			t.Fatalf("area of %v in the square: %.2f, counted %.2f", tri, got, want)
		}
	}
}
