package law

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// TestAirDensity: ISO 2533 has 1.225 kg/m³ at 15 °C and 101 325 Pa; at other
// temperatures and the same pressure the ideal gas p/(R·T) with that
// standard's R = 287.05287 J/(kg·K).
func TestAirDensity(t *testing.T) {
	near(t, "air at 15 degrees", AirDensity(15), 1.225, 1e-9)
	for _, c := range []float64{-30, -10, 0, 25, 40} {
		near(t, fmt.Sprintf("air at %g degrees", c), AirDensity(c), 101325/(287.05287*(c+273.15)), 5e-5)
	}
}

var testRoad = Road{Rolling: .015, TyreExponent: .48, TyreColdPerC: .006, DragAreaM2: .5, WindShare: 1, Efficiency: .8, StandingW: 8, StoppedShare: .6, Evenness: 1}

func testTrip(kmh float64) Trip {
	return Trip{MassKg: 90, AirC: 25, SpeedMs: kmh / KmhPerMs}
}

// TestRoadByHand works one ride by hand. 90 kg at 20 km/h on the level, 25 °C:
// rolling 90·9.80665·0.015 = 13.239 N; drag ½·1.18391·0.5·5.5556² = 9.135 N;
// 22.374 N over 3.6·0.8 = 7.769 Wh/km; 8 W at 20 km/h are 0.4 Wh/km more.
func TestRoadByHand(t *testing.T) {
	near(t, "Wh/km", testRoad.WhPerKm(testTrip(20)), 8.169, .001)
	// F ∝ P^α (SAE J2452), α = -0.48 (Grappe et al. 1999): a tenth less pressure
	// costs 0.9^-0.48 - 1 = 5.19 % of the rolling part, 13.239·0.0519/2.88 Wh/km.
	soft := testTrip(20)
	soft.LogPressure = math.Log(.9)
	near(t, "a tenth less pressure", testRoad.WhPerKm(soft)-testRoad.WhPerKm(testTrip(20)), .2386, .001)
	// 10 m of climb for each km, none down: 90·9.80665·10 J = 2.4517 Wh, over 0.8.
	up := testTrip(20)
	up.ClimbPerM = .01
	near(t, "10 m up each km", testRoad.WhPerKm(up)-testRoad.WhPerKm(testTrip(20)), 3.0646, .001)
	// A steady head wind of 5 m/s: drag by (5.5556 + 5)² instead of 5.5556².
	wind := testTrip(20)
	wind.HeadwindMs = 5
	near(t, "head wind", testRoad.WhPerKm(wind)-testRoad.WhPerKm(testTrip(20)), .5*1.18391*.5*(111.4198-30.8642)/2.88, .001)
	// A stop of 0.09 s for each metre, half as long as the metre takes: 0.6 of
	// 8 W for 90 s a km are 0.12 Wh.
	halting := testTrip(20)
	halting.StoppedSPerM = .09
	near(t, "stops", testRoad.WhPerKm(halting)-testRoad.WhPerKm(testTrip(20)), .12, 1e-9)
	// Half of what 90 kg at 5.5556 m/s hold, 1388.9 J, lost at 4.5 stops a km: 0.868 Wh, over 0.8.
	starting := testRoad
	starting.StartShare = .5
	near(t, "starts", starting.WhPerKm(halting)-testRoad.WhPerKm(halting), .5*1388.889*4.5/3600/.8, 1e-6)
	// 10 kelvin colder: rolling 6 % more, and denser air.
	cold := testTrip(20)
	cold.AirC = 15
	near(t, "10 kelvin colder", testRoad.WhPerKm(cold), (13.23898*1.06+.5*1.225*.5*30.8642)/2.88+.4, .001)
}

// TestRoundWind holds the expansion against the mean over all headings of
// (v + w·cos θ)·|air speed| by quadrature, to 0.2 % of the drag, and at
// w = v against the exact 16/(3π).
func TestRoundWind(t *testing.T) {
	near(t, "w = v", 1+roundWind(1), 16/(3*math.Pi), 1e-12)
	for r := 0.0; r <= 4; r += .05 {
		mean := quad.Fixed(func(a float64) float64 {
			along, across := 1+r*math.Cos(a), r*math.Sin(a)
			return along * math.Hypot(along, across)
		}, 0, math.Pi, 400, nil, 0) / math.Pi
		near(t, fmt.Sprintf("w = %.2f v", r), (1+roundWind(r))/mean, 1, .002)
	}
	for r := 0.0; r < 6; r += .1 {
		if roundWind(r+.1) < roundWind(r) {
			t.Errorf("more wind than %.1f v costs less", r)
		}
	}
}

// TestHeadwind: drag along the way is ½ρCdA·(v+w)·|v+w|, also where the wind
// blows from behind faster than the board rides.
func TestHeadwind(t *testing.T) {
	for _, w := range []float64{-12, -6, -5.5, -3, 0, 2, 9} {
		trip := testTrip(20)
		trip.HeadwindMs = w
		along := trip.SpeedMs + w
		near(t, fmt.Sprintf("drag with a head wind of %g m/s", w), testRoad.dragN(trip), .5*AirDensity(25)*.5*along*math.Abs(along), 1e-9)
		met, half := trip, testRoad
		met.Met, half.WindShare, half.HeadShare = true, .1, .5
		along = trip.SpeedMs + w/2
		near(t, fmt.Sprintf("half of a met wind of %g m/s", w), half.dragN(met), .5*AirDensity(25)*.5*along*math.Abs(along), 1e-9)
	}
}

// TestBraking holds what is braked away on descents against numeric
// integration over grades that are spread exponentially about their mean,
// half of the way up and half down: the mean force at the wheel is that of
// max(0, resistance + weight·grade), less what braking returns.
func TestBraking(t *testing.T) {
	for _, climb := range []float64{.002, .01, .03, .08} {
		for _, returned := range []float64{0, .5} {
			road := testRoad
			road.BrakeReturn, road.StandingW = returned, 0
			trip := testTrip(20)
			flat := road.WhPerKm(trip) * KmhPerMs * road.Efficiency // N
			trip.ClimbPerM, trip.DescentPerM = climb, climb
			weight := trip.MassKg * StandardGravity
			g := 2 * climb // mean grade of either half
			density := func(s float64) float64 { return .5 * math.Exp(-s/g) / g }
			up := func(s float64) float64 { return density(s) * (flat + weight*s) }
			down := func(s float64) float64 {
				f := flat - weight*s
				if f < 0 {
					f *= returned
				}
				return density(s) * f
			}
			kink := flat / weight
			far := kink + 60*g
			want := quad.Fixed(up, 0, 60*g, 2000, nil, 0) + quad.Fixed(down, 0, kink, 1000, nil, 0) + quad.Fixed(down, kink, far, 2000, nil, 0)
			near(t, fmt.Sprintf("force with %g m/m up and down, %g returned", climb, returned), road.WhPerKm(trip)*KmhPerMs*road.Efficiency, max(want, weight*road.Rolling/20), 1e-6*want+1e-6)
		}
	}
}

// TestUnevenness holds the variance of the force over the square of its mean
// against numeric integration: over grades as for what is braked away where few
// need the brake, and over the headings of a loop in the wind.
func TestUnevenness(t *testing.T) {
	trip := testTrip(20)
	near(t, "level and calm", testRoad.Unevenness(trip), 0, 1e-12)
	hilly := trip
	hilly.ClimbPerM, hilly.DescentPerM = .003, .003
	weight, level := trip.MassKg*StandardGravity, testRoad.forceN(trip)
	spread := quad.Fixed(func(s float64) float64 { return math.Exp(-s/.006) / .006 * weight * weight * s * s }, 0, .3, 2000, nil, 0)
	near(t, "3 m up and down each km", testRoad.Unevenness(hilly)/(spread/(level*level)), 1, .02)
	windy := trip
	windy.CrossRoundMs = 1
	force := func(a float64) float64 {
		along, across := trip.SpeedMs+math.Cos(a), math.Sin(a)
		return testRoad.forceN(trip) - testRoad.dragN(trip) + .5*AirDensity(25)*testRoad.DragAreaM2*along*math.Hypot(along, across)
	}
	mean := quad.Fixed(force, 0, math.Pi, 400, nil, 0) / math.Pi
	square := quad.Fixed(func(a float64) float64 { return force(a) * force(a) }, 0, math.Pi, 400, nil, 0) / math.Pi
	near(t, "a loop in a wind of 1 m/s", testRoad.Unevenness(windy)/(square/(mean*mean)-1), 1, .03)
	hilly.ClimbPerM, hilly.DescentPerM = .2, .2
	near(t, "a wall", testRoad.Unevenness(hilly), 1, 1e-12)
}

// TestRoadNeverGainsByHardship: no condition that costs a rider makes a board
// use less.
func TestRoadNeverGainsByHardship(t *testing.T) {
	roads := []Road{testRoad, {Rolling: .012, TyreExponent: .3, TyreColdPerC: 0, DragAreaM2: .4, WindShare: .6, Efficiency: .85, StandingW: 3, BrakeReturn: .5, Evenness: 1}, {Rolling: .03, TyreExponent: .6, TyreColdPerC: .01, DragAreaM2: .8, WindShare: .5, Efficiency: .6, StandingW: 20, Evenness: 1}}
	worse := map[string]func(*Trip, float64){
		"head wind":    func(t *Trip, x float64) { t.HeadwindMs += 4 * x },
		"round wind":   func(t *Trip, x float64) { t.CrossRoundMs += 5 * x },
		"tyre":         func(t *Trip, x float64) { t.LogPressure -= .5 * x },
		"mass":         func(t *Trip, x float64) { t.MassKg += 40 * x },
		"cold":         func(t *Trip, x float64) { t.AirC -= 35 * x },
		"unsteadiness": func(t *Trip, x float64) { t.SpeedVarMs2 += 4 * x },
		"standing":     func(t *Trip, x float64) { t.StoppedSPerM += .2 * x },
		"climb": func(t *Trip, x float64) { // a loop: down again
			t.ClimbPerM += .03 * x
			t.DescentPerM += .03 * x
		},
	}
	for _, road := range roads {
		for _, kmh := range []float64{6, 15, 25, 45} {
			for name, worsen := range worse {
				last := 0.0
				for x := 0.0; x <= 1; x += .05 {
					trip := testTrip(kmh)
					trip.ClimbPerM, trip.DescentPerM = .004, .004
					worsen(&trip, x)
					use := road.WhPerKm(trip)
					if use < last-1e-9 {
						t.Errorf("%s at %g km/h: %.6f Wh/km after %.6f", name, kmh, use, last)
						break
					}
					last = use
				}
			}
		}
	}
}

// TestEvennessOfWaves: on a way of waves of one height the share braked away,
// integrated over a period, is what an evenness of 1.2, 1.6 and 2.1 gives where the
// board rolls by itself on a half, all and 1.3 times the mean grade.
func TestEvennessOfWaves(t *testing.T) {
	for _, wave := range []struct{ level, evenness float64 }{{.5, 1.2}, {1, 1.6}, {1.3, 2.1}} {
		amplitude := math.Pi / 2 // of grades whose mean is 1
		braked := quad.Fixed(func(a float64) float64 { return max(amplitude*math.Sin(a)-wave.level, 0) / math.Pi }, 0, math.Pi, 4000, nil, 0)
		road := testRoad
		road.Evenness = wave.evenness
		trip := Trip{ClimbPerM: .5, DescentPerM: .5}
		near(t, fmt.Sprintf("braked on waves, level %g", wave.level), road.brakedPerM(trip, wave.level), braked/2, .006)
	}
}
