package gpx

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"packwane/health/logbook"
)

// town is an invented round of 5.9 km with eleven corners.
var town = [][2]float64{{0, 0}, {400, 0}, {400, 300}, {900, 300}, {900, 900}, {300, 1100}, {300, 1500}, {-500, 1500}, {-500, 700}, {-100, 300}, {-600, -100}, {0, 0}}

func wave(height, length float64) func(float64) float64 {
	return func(s float64) float64 { return height / 2 * (1 - math.Cos(2*math.Pi*s/length)) }
}

// ride is three rounds of town with stops, hills of 24 m and a swinging speed.
func townRide() invented {
	return invented{
		corners: town, radiusM: 8, laps: 3, speedMs: 5.5, rampMs2: 1, swingMs: 0.5, swingS: 40, everyS: 1,
		stops: map[int]float64{2: 60, 5: 120, 7: 15, 9: 300, 14: 30, 19: 45}, hill: wave(24, 900),
	}
}

// TestKnownTruth measures invented rides through receivers of several kinds and
// compares with what was ridden. The tolerances are what this package promises
// for each; none is a fit to the outcome: white noise below 0.7 % of the
// distance, points 5 s apart below 1 % (they cut corners), noise with a memory
// of 10 s to 60 s, which looks like riding, below 1.2 %.
func TestKnownTruth(t *testing.T) {
	for _, c := range []struct {
		name                   string
		everyS, white          float64
		wanderM, wanderS       float64
		distanceShare, minutes float64
		climbShare             float64
	}{
		{"exact", 1, 0, 0, 0, 0.002, 0.3, 0.02},
		{"good receiver", 1, 0.3, 0, 0, 0.003, 0.3, 0.03},
		{"white 1 m", 1, 1, 0, 0, 0.005, 0.4, 0.05},
		{"white 3 m", 1, 3, 0, 0, 0.007, 0.5, 0.08},
		{"white 5 m", 1, 5, 0, 0, 0.010, 0.6, 0.12},
		{"five a second", 0.2, 1, 0, 0, 0.004, 0.4, 0.05},
		{"every 3 s", 3, 2, 0, 0, 0.008, 0.5, 0.08},
		{"every 5 s", 5, 0, 0, 0, 0.010, 0.8, 0.05},
		{"wander of a minute", 1, 0, 3, 60, 0.005, 0.6, 0.05},
		{"wander of 20 s", 1, 0, 3, 20, 0.008, 0.6, 0.05},
		{"wander of 10 s", 1, 0, 3, 10, 0.012, 0.6, 0.05},
		{"wander and noise", 1, 0.5, 4, 30, 0.010, 0.6, 0.05},
	} {
		t.Run(c.name, func(t *testing.T) {
			for seed := range uint64(4) {
				v := townRide()
				v.seed, v.everyS, v.whiteM, v.hillWhite = seed, c.everyS, c.white, min(1.5*c.white, 5)
				v.wanderM, v.wanderS = c.wanderM, c.wanderS
				points, want := v.make()
				s := Analyse(asTrack(points), Options{})
				near(t, "distance_km", s.DistanceKm, want.metres/1000, c.distanceShare*want.metres/1000)
				near(t, "moving_min", s.MovingMin, want.movingS/60, c.minutes)
				near(t, "stopped_min", s.StoppedMin, want.stoppedS/60, c.minutes)
				near(t, "climb_m", s.ClimbM, want.climb, c.climbShare*want.climb)
				near(t, "descent_m", s.DescentM, want.descent, c.climbShare*want.descent)
				near(t, "moving_speed_kmh", s.MovingSpeedKmh, want.metres/want.movingS*3.6, (c.distanceShare+c.minutes*60/want.movingS)*20)
				if n := len(s.Stops); n < 6 || n > 8 {
					t.Errorf("%d stops, want 6 (or up to 8 where noise parts them)", n)
				}
				if s.Shape != "loop" {
					t.Errorf("shape %q, want loop", s.Shape)
				}
			}
		})
	}
}

func near(t *testing.T, what string, got logbook.Num, want, within float64) {
	t.Helper()
	if !got.OK || !(math.Abs(got.V-want) <= within) {
		t.Errorf("%s %.4f (known: %v), want %.4f within %.4f", what, got.V, got.OK, want, within)
	}
}

// TestSteadiness finds a swing of the speed on a straight road: its standard
// deviation is the amplitude over the root of two, and the share of the time
// within x of the mean is 2/pi asin(x/amplitude) (both of a sine).
func TestSteadiness(t *testing.T) {
	const amplitude = 5.4 // km/h
	for _, white := range []float64{0, 0.5, 1, 3} {
		v := invented{corners: [][2]float64{{0, 0}, {20000, 0}}, speedMs: 6, swingMs: amplitude / 3.6, swingS: 90, everyS: 1, whiteM: white, noEle: true}
		points, _ := v.make()
		s := Analyse(asTrack(points), Options{TargetKmh: logbook.Some(21.6)})
		near(t, "speed_sd_kmh", s.SpeedSdKmh, amplitude/math.Sqrt2, 0.15)
		near(t, "steady_share", s.SteadyShare, 2/math.Pi*math.Asin(DefaultWithinKmh/amplitude), 0.03)
		wide := Analyse(asTrack(points), Options{TargetKmh: logbook.Some(21.6), WithinKmh: logbook.Some(8)})
		near(t, "steady_share within 8", wide.SteadyShare, 1, 0.005)
		off := Analyse(asTrack(points), Options{TargetKmh: logbook.Some(40)})
		near(t, "steady_share at 40", off.SteadyShare, 0, 0)
	}
}

// TestSteadyRide is steady throughout, whatever the noise.
func TestSteadyRide(t *testing.T) {
	for _, white := range []float64{0, 1, 3} {
		points, _ := invented{corners: [][2]float64{{0, 0}, {9000, 0}}, speedMs: 6, everyS: 1, whiteM: white}.make()
		s := Analyse(asTrack(points), Options{})
		near(t, "steady_share", s.SteadyShare, 1, 0.01)
		near(t, "speed_sd_kmh", s.SpeedSdKmh, 0, 0.4)
	}
}

// TestStanding gathers no distance to speak of in twenty minutes at one place:
// white noise and wander of 5 m, whose raw steps sum up to kilometres.
func TestStanding(t *testing.T) {
	for _, c := range []struct{ white, wander, memoryS float64 }{{1, 0, 0}, {5, 0, 0}, {0.2, 5, 60}, {1, 5, 30}, {0, 4, 10}} {
		for seed := range uint64(5) {
			rng := rand.New(rand.NewPCG(seed, 9))
			keep := 0.0
			if c.memoryS > 0 {
				keep = math.Exp(-1 / c.memoryS)
			}
			var e, n, raw float64
			var points []fix
			for i := range 1200 {
				e = keep*e + c.wander*math.Sqrt(1-keep*keep)*rng.NormFloat64()
				n = keep*n + c.wander*math.Sqrt(1-keep*keep)*rng.NormFloat64()
				points = append(points, fixAt(e+c.white*rng.NormFloat64(), n+c.white*rng.NormFloat64(), float64(i)))
				if i > 0 {
					raw += overGround(points[i-1].at(), points[i].at())
				}
			}
			s := Analyse(asTrack(points), Options{})
			if s.DistanceKm.V > 0.05*raw/1000 {
				t.Errorf("%+v seed %d: %.0f m (raw %.0f m), moving %.1f min", c, seed, s.DistanceKm.V*1000, raw, s.MovingMin.V)
			}
			near(t, "stopped_min", s.StoppedMin, 1199.0/60, 0.5)
		}
	}
}

// TestWalkingPace still counts a board that is pushed, and one that creeps.
func TestWalkingPace(t *testing.T) {
	for _, speed := range []float64{1.2, 1.8} {
		for _, white := range []float64{0, 1, 3} {
			points, want := invented{corners: [][2]float64{{0, 0}, {900, 0}}, speedMs: speed, everyS: 1, whiteM: white, stops: map[int]float64{0: 120}}.make()
			s := Analyse(asTrack(points), Options{})
			near(t, "distance_km", s.DistanceKm, 0.9, 0.012+0.003*white)
			near(t, "stopped_min", s.StoppedMin, want.stoppedS/60, 0.15+0.1*white)
		}
	}
}

// TestCoarseDigits reads positions of five and six decimals (1.1 and 0.11 m).
func TestCoarseDigits(t *testing.T) {
	for _, unit := range []int64{10_000, 1_000} {
		points, want := townRide().make()
		for i := range points {
			points[i].lat = (points[i].lat + unit/2) / unit * unit
			points[i].lon = (points[i].lon + unit/2) / unit * unit
		}
		s := Analyse(asTrack(points), Options{})
		near(t, "distance_km", s.DistanceKm, want.metres/1000, 0.004*want.metres/1000)
		near(t, "stopped_min", s.StoppedMin, want.stoppedS/60, 0.3)
	}
}

// TestStandingAddsNothing puts a stop into a ride: the distance stays, the time
// goes to the stop.
func TestStandingAddsNothing(t *testing.T) {
	for _, white := range []float64{0, 1, 3} {
		v := townRide()
		v.stops, v.whiteM, v.laps = nil, white, 1
		points, _ := v.make()
		before := Analyse(asTrack(points), Options{})
		rng := rand.New(rand.NewPCG(2, 2))
		at := 400
		longer := slices.Clone(points[:at])
		exact, _ := invented{seed: v.seed, corners: v.corners, radiusM: v.radiusM, laps: 1, speedMs: v.speedMs, rampMs2: v.rampMs2, swingMs: v.swingMs, swingS: v.swingS, everyS: 1, noEle: true}.make()
		for i := range 300 {
			f := exact[at-1]
			f.lat += int64(white * 9000 * rng.NormFloat64())
			f.lon += int64(white * 13000 * rng.NormFloat64())
			f.timeMs += int64(i+1) * 1000
			longer = append(longer, f)
		}
		for _, f := range points[at:] {
			f.timeMs += 300_000
			longer = append(longer, f)
		}
		after := Analyse(asTrack(longer), Options{})
		near(t, "distance_km", after.DistanceKm, before.DistanceKm.V, 0.001+white*0.004)
		near(t, "stopped_min", after.StoppedMin, before.StoppedMin.V+5, 0.1+white*0.03)
		near(t, "moving_min", after.MovingMin, before.MovingMin.V, 0.1+white*0.03)
	}
}

// TestReverse rides a track backwards: as far, as long, and up what was down.
func TestReverse(t *testing.T) {
	for _, white := range []float64{0, 1, 4} {
		v := townRide()
		v.whiteM, v.hillWhite = white, white
		v.hill = func(s float64) float64 { return wave(24, 900)(s) + 0.01*s }
		points, _ := v.make()
		back := slices.Clone(points)
		slices.Reverse(back)
		end := points[len(points)-1].timeMs
		for i := range back {
			back[i].timeMs = points[0].timeMs + end - back[i].timeMs
		}
		a, b := Analyse(asTrack(points), Options{}), Analyse(asTrack(back), Options{})
		near(t, "distance_km", b.DistanceKm, a.DistanceKm.V, 0.0002*a.DistanceKm.V)
		near(t, "moving_min", b.MovingMin, a.MovingMin.V, 0.05)
		near(t, "climb_m", b.ClimbM, a.DescentM.V, 0.02*a.DescentM.V)
		near(t, "descent_m", b.DescentM, a.ClimbM.V, 0.02*a.ClimbM.V)
		east := a.Headwind(10, 90)
		near(t, "headwind", b.Headwind(10, 90), -east.V, 0.05)
	}
}

// TestSplitting cuts a ride into segments, tracks and shuffled pieces: the
// figures stay, since reception went on.
func TestSplitting(t *testing.T) {
	v := townRide()
	v.whiteM = 1
	points, _ := v.make()
	whole := Analyse(asTrack(points), Options{})
	split := slices.Clone(points)
	for i := range split {
		split[i].segment = int32(1 + i/97)
	}
	shuffled := slices.Clone(split)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	doubled := append(slices.Clone(points), points...)
	for name, p := range map[string][]fix{"split": split, "shuffled": shuffled, "doubled": doubled} {
		s := Analyse(asTrack(p), Options{})
		s.Warnings = nil
		whole.Warnings = nil
		if a, b := text(t, s), text(t, whole); a != b {
			t.Errorf("%s:\n%s\nwant\n%s", name, a, b)
		}
	}
}

func text(t *testing.T, s *Summary) string {
	t.Helper()
	b, err := s.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestBlocks measures a leg longer than one block as if in one.
func TestBlocks(t *testing.T) {
	v := invented{corners: town, radiusM: 8, laps: 16, speedMs: 5.5, everyS: 1, whiteM: 1, hillWhite: 1, hill: wave(24, 900), stops: map[int]float64{100: 400}}
	points, want := v.make()
	if len(points) <= maxLeg {
		t.Fatalf("%d points are too few to tell", len(points))
	}
	s := Analyse(asTrack(points), Options{})
	near(t, "distance_km", s.DistanceKm, want.metres/1000, 0.005*want.metres/1000)
	near(t, "stopped_min", s.StoppedMin, want.stoppedS/60, 0.3)
}

// TestHills keeps what hills there are and adds none: 24 km of invented road.
func TestHills(t *testing.T) {
	triangle := func(s float64) float64 {
		if s = math.Mod(s, 2000); s > 1000 {
			s = 2000 - s
		}
		return 0.05 * s
	}
	for _, c := range []struct {
		name          string
		hill          func(float64) float64
		white, within float64 // within: share of the climb, or metres where there is none
	}{
		{"flat, exact", nil, 0, 0},
		{"flat, barometer", nil, 0.2, 1},
		{"flat, noise 3 m", nil, 3, 10},
		{"flat, noise 5 m", nil, 5, 15},
		{"waves of 24 m", wave(24, 900), 0, 0.01},
		{"waves of 24 m, noise 1 m", wave(24, 900), 1, 0.03},
		{"waves of 24 m, noise 4 m", wave(24, 900), 4, 0.1},
		{"waves of 6 m, noise 0.3 m", wave(6, 400), 0.3, 0.03},
		{"ridges of 50 m", triangle, 0, 0.02},
		{"ridges of 50 m, noise 1 m", triangle, 1, 0.05},
		{"ridges of 50 m, noise 5 m", triangle, 5, 0.15},
	} {
		for seed := range uint64(3) {
			points, want := invented{seed: seed, corners: [][2]float64{{0, 0}, {12000, 0}, {12000, 100}, {0, 100}}, radiusM: 10, speedMs: 6.5, everyS: 1, whiteM: 1, hill: c.hill, hillWhite: c.white}.make()
			s := Analyse(asTrack(points), Options{})
			within := c.within
			if want.climb > 1 {
				within *= want.climb
			}
			if math.Abs(s.ClimbM.V-want.climb) > within || math.Abs(s.DescentM.V-want.descent) > within {
				t.Errorf("%s: climb %.0f m, descent %.0f m, want %.0f and %.0f within %.0f", c.name, s.ClimbM.V, s.DescentM.V, want.climb, want.descent, within)
			}
		}
	}
}

// TestWanderingHeights says so where the climb may be a receiver's wander.
func TestWanderingHeights(t *testing.T) {
	points, _ := invented{corners: [][2]float64{{0, 0}, {24000, 0}}, speedMs: 6.5, everyS: 1, hillWanderM: 3, hillWanderS: 40}.make()
	s := Analyse(asTrack(points), Options{})
	if !warned(s, "climb_uncertain") {
		t.Errorf("climb %.0f m of a flat road without a warning: %v", s.ClimbM.V, s.Warnings)
	}
}

func warned(s *Summary, code string) bool {
	return slices.ContainsFunc(s.Warnings, func(w Warning) bool { return w.Code == code })
}

// TestShapes tells the three shapes, and the wind along them: on a way there
// and back it cancels, on one way it is the component against the ride.
func TestShapes(t *testing.T) {
	for _, c := range []struct {
		name    string
		corners [][2]float64
		laps    int
		shape   string
		head    float64 // of a wind of 10 km/h from due east
	}{
		{"one way east", [][2]float64{{0, 0}, {3000, 0}}, 1, "one_way", 10},
		{"one way north-east", [][2]float64{{0, 0}, {3000, 3000}}, 1, "one_way", 10 * math.Sqrt2 / 2},
		{"one way, bent", [][2]float64{{0, 0}, {2000, 0}, {2000, -2000}}, 1, "one_way", 5},
		{"there and back", [][2]float64{{0, 0}, {3000, 0}, {3000, 20}, {0, 20}}, 1, "out_back", 0},
		{"twice there and back", [][2]float64{{0, 0}, {2000, 0}, {2000, 20}, {0, 20}, {0, 0}}, 2, "out_back", 0},
		{"round", [][2]float64{{0, 0}, {1000, 0}, {1000, 800}, {0, 800}, {0, 0}}, 1, "loop", 0},
		{"rounds", [][2]float64{{0, 0}, {400, 0}, {400, 300}, {0, 300}, {0, 0}}, 5, "loop", 0},
	} {
		points, _ := invented{corners: c.corners, laps: c.laps, radiusM: 5, speedMs: 6, everyS: 1, whiteM: 0.5}.make()
		s := Analyse(asTrack(points), Options{WindKmh: logbook.Some(10), WindFromDeg: logbook.Some(90)})
		if s.Shape != c.shape {
			t.Errorf("%s: shape %q, want %q", c.name, s.Shape, c.shape)
		}
		near(t, c.name+": headwind_kmh", s.HeadwindKmh, c.head, 0.12)
	}
}
