package gpx

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// What real receivers do wrong, each put into the same invented ride: the
// figures stay near those of the ride, and a warning says what was found.

func steadyRide() ([]fix, truth) {
	return invented{seed: 3, corners: town, radiusM: 8, laps: 1, speedMs: 5.5, everyS: 1, whiteM: 0.7, hill: wave(24, 900), hillWhite: 0.5,
		stops: map[int]float64{4: 90}}.make()
}

// moved returns f so many metres farther east.
func moved(f fix, metres float64) fix {
	f.lon += int64(metres / (111_320 * math.Cos(homeLat*math.Pi/180)) * 1e9)
	return f
}

func TestFaults(t *testing.T) {
	clean, want := steadyRide()
	for _, c := range []struct {
		name  string
		spoil func([]fix) []fix
		code  string
	}{
		{"nothing", func(p []fix) []fix { return p }, ""},
		{"lone jumps", func(p []fix) []fix {
			for i := 50; i < len(p); i += 100 {
				p[i] = moved(p[i], 40+float64(i))
			}
			return p
		}, "jumps"},
		{"a far reflection for five seconds", func(p []fix) []fix {
			for i := 300; i < 305; i++ {
				p[i] = moved(p[i], 500)
			}
			return p
		}, "jumps"},
		{"no fix yet: 0, 0", func(p []fix) []fix {
			for i := range 3 {
				p[i].lat, p[i].lon = 0, 0
			}
			return p
		}, "jumps"},
		{"0, 0 amid", func(p []fix) []fix {
			p[200].lat, p[200].lon = 0, 0
			p[600].lat, p[600].lon = 0, 0
			return p
		}, "jumps"},
		{"pairs exchanged", func(p []fix) []fix {
			for i := 10; i+1 < len(p); i += 37 {
				p[i], p[i+1] = p[i+1], p[i]
			}
			return p
		}, "out_of_order"},
		{"the second half first", func(p []fix) []fix {
			return append(slices.Clone(p[len(p)/2:]), p[:len(p)/2]...)
		}, "out_of_order"},
		{"every point twice", func(p []fix) []fix {
			var out []fix
			for _, f := range p {
				out = append(out, f, f)
			}
			return out
		}, "doubled_times"},
		{"lone points without a time", func(p []fix) []fix {
			for i := 5; i < len(p); i += 50 {
				p[i].has &^= hasTime
			}
			return p
		}, "untimed_points"},
		{"a tunnel", func(p []fix) []fix { return slices.Delete(p, 420, 450) }, "gaps"},
		{"heights of 0 now and then", func(p []fix) []fix {
			for i := 7; i < len(p); i += 83 {
				p[i].eleMm = 0
			}
			return p
		}, ""},
		{"two points in three without a height", func(p []fix) []fix {
			for i := range p {
				if i%3 != 0 {
					p[i].has &^= hasEle
				}
			}
			return p
		}, ""},
		{"two segments with a pause", func(p []fix) []fix {
			at := 0
			for i := range p {
				if p[i].timeMs-p[0].timeMs > 900_000 && at == 0 {
					at = i
				}
				if at > 0 {
					p[i].segment = 2
				}
			}
			return p
		}, ""},
	} {
		points := c.spoil(slices.Clone(clean))
		s := Analyse(asTrack(points), Options{})
		near(t, c.name+": distance_km", s.DistanceKm, want.metres/1000, 0.012*want.metres/1000)
		near(t, c.name+": moving_min", s.MovingMin, want.movingS/60, 0.3)
		near(t, c.name+": stopped_min", s.StoppedMin, want.stoppedS/60, 0.3)
		near(t, c.name+": climb_m", s.ClimbM, want.climb, 0.06*want.climb)
		if c.code != "" && !warned(s, c.code) || c.code == "" && len(s.Warnings) > 0 {
			t.Errorf("%s: warnings %v, want %q", c.name, s.Warnings, c.code)
		}
	}
}

// TestArrange sorts points that are out of order near and far, and keeps of those
// at one time the first in the file.
func TestArrange(t *testing.T) {
	const n = 3*maxSorted + 7
	points := make([]fix, n)
	for i := range points {
		points[i] = fix{lat: int64(i) * 1000, timeMs: simStart.UnixMilli() + int64(i/2)*1000, segment: 1, has: hasTime}
	}
	rng := rand.New(rand.NewPCG(8, 8))
	near := slices.Clone(points)
	for i := 0; i+20 < n; i += 20 {
		rng.Shuffle(20, func(j, k int) { near[i+j], near[i+k] = near[i+k], near[i+j] })
	}
	far := slices.Clone(points)
	rng.Shuffle(n, func(j, k int) { far[j], far[k] = far[k], far[j] })
	for name, p := range map[string][]fix{"near": near, "far": far} {
		first := map[int64]int64{}
		for _, f := range p {
			if _, ok := first[f.timeMs]; !ok {
				first[f.timeMs] = f.lat
			}
		}
		a := arrange(asTrack(p))
		last, seen := int64(0), 0
		for f := range a.points.all() {
			if f.timeMs <= last || f.lat != first[f.timeMs] {
				t.Fatalf("%s: point %d at %d ms is %d, want %d after %d ms", name, seen, f.timeMs, f.lat, first[f.timeMs], last)
			}
			last = f.timeMs
			seen++
		}
		if seen != (n+1)/2 || a.doubles != n/2 {
			t.Errorf("%s: %d points and %d doubles, want %d and %d", name, seen, a.doubles, (n+1)/2, n/2)
		}
	}
	if runs := len(sortedRuns(&asTrack(near).points)); runs > 3 {
		t.Errorf("neighbours exchanged make %d runs", runs)
	}
}

// TestPauses counts a pause between segments as a stop where the rider goes on
// from there, and nothing of a way that was not recorded.
func TestPauses(t *testing.T) {
	clean, _ := steadyRide()
	base := Analyse(asTrack(clean), Options{})
	at := len(clean) / 3
	paused, carried := slices.Clone(clean), slices.Clone(clean)
	for i := at; i < len(clean); i++ {
		paused[i].segment, carried[i].segment = 2, 2
		paused[i].timeMs += 600_000
		carried[i].timeMs += 3_600_000
		carried[i].lat += 300_000_000 // 33 km away
	}
	s := Analyse(asTrack(paused), Options{})
	near(t, "paused: stopped_min", s.StoppedMin, base.StoppedMin.V+10, 0.1)
	near(t, "paused: distance_km", s.DistanceKm, base.DistanceKm.V, 0.012)
	s = Analyse(asTrack(carried), Options{})
	near(t, "carried: stopped_min", s.StoppedMin, base.StoppedMin.V, 0.1)
	near(t, "carried: distance_km", s.DistanceKm, base.DistanceKm.V, 0.03)
	if !warned(s, "not_recorded") {
		t.Errorf("carried: warnings %v", s.Warnings)
	}
}

// TestRecordedByDistance reads a logger that writes a point every 10 m and none
// at rest: the stop shows as a long step.
func TestRecordedByDistance(t *testing.T) {
	all, want := invented{corners: town, radiusM: 8, speedMs: 5, everyS: 0.2, stops: map[int]float64{3: 240, 6: 60}, noEle: true}.make()
	points := []fix{all[0]}
	for _, f := range all {
		if overGround(points[len(points)-1].at(), f.at()) >= 10 {
			points = append(points, f)
		}
	}
	s := Analyse(asTrack(points), Options{})
	near(t, "distance_km", s.DistanceKm, want.metres/1000, 0.006*want.metres/1000)
	near(t, "stopped_min", s.StoppedMin, want.stoppedS/60, 0.2)
	near(t, "moving_min", s.MovingMin, want.movingS/60, 0.2)
}

// TestHeldPosition reads a receiver that repeats its position at rest.
func TestHeldPosition(t *testing.T) {
	points, want := steadyRide()
	s := Analyse(asTrack(points), Options{})
	if len(s.Stops) != 1 {
		t.Fatalf("stops %v", s.Stops)
	}
	held, atRest := fix{}, 0
	for i, f := range points {
		from := s.Stops[0].AtKm * 1000 / 5.5 // the moment of the stop: no other before it
		if age := float64(f.timeMs-points[0].timeMs) / 1000; age >= from+3 && age <= from+85 {
			if atRest++; atRest == 1 {
				held = f
			}
			points[i].lat, points[i].lon = held.lat, held.lon
		}
	}
	if atRest < 60 {
		t.Fatalf("%d points at rest", atRest)
	}
	s = Analyse(asTrack(points), Options{})
	near(t, "stopped_min", s.StoppedMin, want.stoppedS/60, 0.2)
	near(t, "distance_km", s.DistanceKm, want.metres/1000, 0.006*want.metres/1000)
}

// TestRecordedSpeeds believes the speeds in the points where they fit, and says
// so where they do not.
func TestRecordedSpeeds(t *testing.T) {
	const amplitude = 5.4
	v := invented{corners: [][2]float64{{0, 0}, {15000, 0}}, speedMs: 6, swingMs: amplitude / 3.6, swingS: 12, everyS: 1, whiteM: 2, noEle: true}
	points, _ := v.make()
	for i := range points {
		t := float64(points[i].timeMs-points[0].timeMs) / 1000
		points[i].speedMms = int32(1000 * (v.speedMs + v.swingMs*math.Sin(2*math.Pi*t/v.swingS)))
		points[i].has |= hasSpeed
	}
	s := Analyse(asTrack(points), Options{})
	// The mean over a second of a sine of 12 s is sin(pi/12)/(pi/12) of it, and
	// the mean of its ends cos(pi/12).
	near(t, "speed_sd_kmh", s.SpeedSdKmh, amplitude/math.Sqrt2*math.Cos(math.Pi/12), 0.05)
	for i := range points {
		points[i].speedMms = int32(float64(points[i].speedMms) * 3.6) // km/h
	}
	if s = Analyse(asTrack(points), Options{}); !warned(s, "speeds_ignored") {
		t.Errorf("speeds in km/h: warnings %v", s.Warnings)
	}
	near(t, "moving_speed_kmh", s.MovingSpeedKmh, 21.6, 0.3)
}

// TestNoTimes still tells distance, climb and shape.
func TestNoTimes(t *testing.T) {
	points, want := invented{corners: town, radiusM: 8, speedMs: 5.5, everyS: 1, hill: wave(24, 900)}.make()
	same := slices.Clone(points)
	for i := range points {
		points[i].has &^= hasTime
		points[i].timeMs = 0
		same[i].timeMs = simStart.UnixMilli()
	}
	points[300] = moved(points[300], 900)
	for name, p := range map[string][]fix{"no times": points, "one time": same} {
		s := Analyse(asTrack(p), Options{})
		near(t, name+": distance_km", s.DistanceKm, want.metres/1000, 0.003*want.metres/1000)
		near(t, name+": climb_m", s.ClimbM, want.climb, 0.03*want.climb)
		if s.MovingMin.OK || s.StoppedMin.OK || s.MovingSpeedKmh.OK || s.SteadyShare.OK || s.SpeedSdKmh.OK || !s.Start.IsZero() || len(s.Series) > 0 {
			t.Errorf("%s: figures of time are known: %s", name, text(t, s))
		}
		if !warned(s, "no_times") || s.Shape != "loop" {
			t.Errorf("%s: warnings %v, shape %q", name, s.Warnings, s.Shape)
		}
	}
}

// TestTinyTracks says what cannot be known of one point, two, and a still one.
func TestTinyTracks(t *testing.T) {
	one := Analyse(asTrack([]fix{fixAt(0, 0, 0)}), Options{})
	if one.DistanceKm.OK || !warned(one, "too_short") {
		t.Errorf("one point: %s", text(t, one))
	}
	two := Analyse(asTrack([]fix{fixAt(0, 0, 0), fixAt(30, 40, 10)}), Options{})
	near(t, "two points: distance_km", two.DistanceKm, 0.05, 1e-5)
	near(t, "two points: moving_speed_kmh", two.MovingSpeedKmh, 18, 0.01)
	if two.ClimbM.OK || two.Shape != "" {
		t.Errorf("two points: %s", text(t, two))
	}
	still := Analyse(asTrack([]fix{fixAt(0, 0, 0), fixAt(0, 0, 10), fixAt(0, 0, 20)}), Options{})
	near(t, "still: distance_km", still.DistanceKm, 0, 0)
	near(t, "still: stopped_min", still.StoppedMin, 1.0/3, 1e-9)
	if still.MovingSpeedKmh.OK || still.SteadyShare.OK || still.HeadwindKmh.OK {
		t.Errorf("still: %s", text(t, still))
	}
}

// TestSeries covers the way without holes, in few pieces.
func TestSeries(t *testing.T) {
	points, want := townRide().make()
	s := Analyse(asTrack(points), Options{})
	at, sum := 0.0, 0.0
	for _, p := range s.Series {
		if math.Abs(p.FromKm-at) > 1e-9 || p.ToKm <= p.FromKm {
			t.Fatalf("piece from %v to %v km, want it to begin at %v", p.FromKm, p.ToKm, at)
		}
		at = p.ToKm
		sum += (p.ToKm - p.FromKm) / p.SpeedKmh
	}
	near(t, "end of the series", s.DistanceKm, at, 1e-6)
	if math.Abs(sum*60-want.movingS/60) > 0.5 || len(s.Series) > mostPieces {
		t.Errorf("%d pieces, %.2f min, want %.2f min", len(s.Series), sum*60, want.movingS/60)
	}
}
