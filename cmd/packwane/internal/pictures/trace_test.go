package pictures

import (
	"math"
	"testing"
	"time"

	"packwane/charts"
	"packwane/health/trace"
)

// TestSegmentsOfALongTrace: a chart marks few segments as they are; of very
// many it marks no more than it can show, and each kind has its share of the
// time. The segments are invented.
func TestSegmentsOfALongTrace(t *testing.T) {
	start := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	long := map[trace.SegmentKind]float64{trace.Riding: 120, trace.Rest: 80, trace.Charging: 300}
	for _, rounds := range []int{3, 20_000} {
		lasted := 500 * float64(rounds)
		th := segmentThinner{least: lasted / mostMarks}
		want, at, n := map[charts.SegmentKind]float64{}, 0.0, 0
		for range rounds {
			for _, k := range []trace.SegmentKind{trace.Riding, trace.Rest, trace.Charging} {
				s := trace.Segment{Kind: k, Start: start.Add(time.Duration(at) * time.Second), Seconds: [2]float64{at, at + long[k]}}
				at += long[k]
				want[kindOf(k)] += long[k]
				n++
				th.add(&s)
			}
		}
		th.flush()
		if few := len(th.out); few > n || few > 2*mostMarks || rounds < 10 && few != n {
			t.Errorf("%d of %d segments are marked", few, n)
		}
		got, end := map[charts.SegmentKind]float64{}, th.out[0].Start
		scale := (th.out[len(th.out)-1].End - th.out[0].Start) / lasted
		for _, m := range th.out {
			if math.Abs(m.Start-end) > 1e-3 {
				t.Fatalf("a mark begins at %v, the one before ends at %v", m.Start, end)
			}
			end = m.End
			got[m.Kind] += (m.End - m.Start) / scale
		}
		for k, s := range want {
			if math.Abs(got[k]-s) > 2*th.least {
				t.Errorf("%d rounds: %v has %v s of the chart, want %v", rounds, k, got[k], s)
			}
		}
	}
}
