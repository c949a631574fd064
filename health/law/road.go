package law

import "math"

// StandardGravity in m/s² (ISO 80000-3, CGPM 1901).
const StandardGravity = 9.80665

// KmhPerMs is exact: 3.6 km/h are 1 m/s.
const KmhPerMs = 3.6

// AirDensity returns the density of air in kg/m³ at a temperature in °C and
// standard pressure: 1.225 at 15 °C (ISO 2533), falling with absolute
// temperature.
func AirDensity(tempC float64) float64 { return 1.225 * 288.15 / (zeroC + tempC) }

// Road is how a board, its rider and its drive use energy.
type Road struct {
	Rolling      float64 // rolling resistance coefficient at the reference pressure and 25 °C
	TyreExponent float64 // F ∝ p^-TyreExponent; bicycle tyres 0.48 (Grappe et al. 1999), form by SAE J2452
	TyreColdPerC float64 // rolling resistance gained per kelvin below 25 °C; 0.008 by UN Regulation 117, annex 6, 6.2 (car tyres)
	DragAreaM2   float64 // drag coefficient times frontal area
	WindShare    float64 // of the recorded wind that reaches the rider
	HeadShare    float64 // likewise of a head wind that was met on the way (Trip.Met)
	Efficiency   float64 // pack terminals to road
	StandingW    float64 // while moving: electronics, lights, and what the drive takes whatever it carries
	StoppedShare float64 // of that, at a stop
	StartShare   float64 // lost at a stop of StopSeconds, of the kinetic energy of the mean speed
	BrakeReturn  float64 // share of what is braked away on a descent that comes back to the pack
	Evenness     float64 // of grades: 1 spread exponentially, less where few are steep and most of the way is flat, about 1.6 on waves
}

// Trip is one ride as the road sees it. All fields are finite; what was not
// recorded has been filled in by the caller, with its uncertainty kept apart.
type Trip struct {
	MassKg       float64 // vehicle, pack and rider
	LogPressure  float64 // ln(pressure over reference pressure), 0 where unknown
	AirC         float64
	SpeedMs      float64 // mean while moving
	SpeedVarMs2  float64 // variance of the speed while moving, (m/s)²
	HeadwindMs   float64 // mean component along the way, + against
	Met          bool    // HeadwindMs is what the rider met, not that of a weather report
	CrossRoundMs float64 // wind speed met from all sides in turn (a loop), or what HeadwindMs leaves of one from the side
	ClimbPerM    float64 // metres climbed per metre ridden
	DescentPerM  float64
	StoppedSPerM float64 // seconds at a stop per metre ridden
}

// roundWind is the drag added by a wind that a loop meets from all
// sides, over that of still air: the mean over headings of
// (v + w·cos θ)·√((v + w·cos θ)² + (w·sin θ)²) is, for r = w/v up to 1,
// v²·(1 + 3/4·r² - 0.0523·r⁴), and beyond v²·(3/2·r + 3/16/r + 0.0102/r³) (own
// expansions for little and much wind; both 16/(3π) at r = 1, which is exact).
func roundWind(r float64) float64 {
	if r > 1 {
		return 1.5*r + .1875/r + exactAtOne/(r*r*r) - 1
	}
	r2 := r * r
	return float64(.75*r2) - float64((1.75-16/(3*math.Pi))*r2*r2)
}

// exactAtOne makes the second expansion of roundWind exact where it begins.
const exactAtOne = 16/(3*math.Pi) - 1.6875

// StopSeconds is how long a stop takes, from memory: lights, crossings, gates.
const StopSeconds = 20

// leastMs is the slowest speed that counts as moving.
const leastMs = .3

// WhPerKm returns the energy drawn from the pack's terminals per kilometre,
// net of regeneration:
//
//	[ m·g·Crr·p^-α·cold + ½·ρ·CdA·(drag speed)² + m·g·(climb - descent + braked) + share·½·m·v²·stops ] / (3.6·η)
//	  + P0·(moving + share·stopped)
//
// It is never below a twentieth of the rolling part.
func (r Road) WhPerKm(t Trip) float64 {
	kinetic := .5 * t.MassKg * t.SpeedMs * t.SpeedMs
	force := r.forceN(t) + float64(r.StartShare*kinetic)*t.StoppedSPerM/StopSeconds
	return force/(KmhPerMs*r.Efficiency) + r.StandingW*(1/max(t.SpeedMs, leastMs)+r.StoppedShare*t.StoppedSPerM)/KmhPerMs
}

// forceN is the mean force at the wheel, less what braking returns.
func (r Road) forceN(t Trip) float64 {
	weight := t.MassKg * StandardGravity
	rolling := weight * r.Rolling * math.Exp(-r.TyreExponent*t.LogPressure) * r.cold(t.AirC)
	level := rolling + r.dragN(t)
	force := level + weight*(t.ClimbPerM-t.DescentPerM+float64((1-r.BrakeReturn)*r.brakedPerM(t, level/weight)))
	return max(force, rolling/20)
}

// Unevenness returns the variance of the force at the wheel that grades and the
// turns of a loop in the wind make, over the square of its mean, at most 1. By
// so much more than its mean does a current that follows it lower the volts,
// weighed by what flows: E[I²]/E[I]² - 1. Grades are spread as for what is braked
// away, so that their mean square is 2/e times the square of the mean;
// wind w from all sides in turn changes the drag by 2·k·v·w·cos θ (own derivation,
// for little wind and grades that need no brake).
func (r Road) Unevenness(t Trip) float64 {
	grade := 2 * max(t.ClimbPerM, t.DescentPerM) * t.MassKg * StandardGravity
	turn := .5 * AirDensity(t.AirC) * r.DragAreaM2 * max(t.SpeedMs, leastMs) * r.WindShare * t.CrossRoundMs
	force := r.forceN(t)
	return min(2*(float64(grade*grade)/r.Evenness+float64(turn*turn))/(force*force), 1)
}

// brakedPerM returns the metres of descent per metre ridden whose energy is
// braked away. A descent spares the pack until it is steeper than the grade
// on which the board rolls by itself, level (resistance over weight). With
// a share e of the way in grades spread exponentially, of mean g over all of it,
// half of them up and half down, the share of the descent above it is
// exp(-e·level/g) (own derivation). An e above 1 stands for grades that are more
// even than that: on waves of one height (sine) the share is that of e = 1.2 where
// level is half of g, 1.6 where it is g, 2.1 at 1.3 g (own integrals).
func (r Road) brakedPerM(t Trip, level float64) float64 {
	g := 2 * max(t.ClimbPerM, t.DescentPerM)
	if g <= 0 || t.DescentPerM <= 0 {
		return 0
	}
	return t.DescentPerM * math.Exp(-r.Evenness*max(level, 0)/g)
}

// cold is the factor of rolling resistance at an air temperature in °C: a
// straight line, held within sense.
func (r Road) cold(airC float64) float64 {
	return min(max(1+r.TyreColdPerC*(25-airC), .7), 1.6)
}

// headMs is the head wind at the rider, m/s.
func (r Road) headMs(t Trip) float64 {
	if t.Met {
		return r.HeadShare * t.HeadwindMs
	}
	return r.WindShare * t.HeadwindMs
}

func (r Road) dragN(t Trip) float64 {
	v := max(t.SpeedMs, leastMs)
	square := float64(v*v) + 3*t.SpeedVarMs2
	if t.CrossRoundMs > 0 {
		square += float64(v*v) * roundWind(r.WindShare*t.CrossRoundMs/v)
	}
	if h := r.headMs(t); h != 0 {
		square += 2*float64(v*h) + float64(h*h)
		if v+h < 0 { // blown along
			square -= 2 * (v + h) * (v + h)
		}
	}
	return .5 * AirDensity(t.AirC) * r.DragAreaM2 * square
}
