package simulate

import (
	"math"
	"math/rand/v2"
)

// Drive is all that decides how a ride goes. Truth.Reference and Truth.Ride
// give one; its fields may be changed before Truth.Go is asked again.
type Drive struct {
	Route    Route
	Rider    Rider
	SpeedKmh float64 // mean moving speed
	AirC     float64
	PackC    float64 // when it starts
	HoldC    bool    // the pack stays at PackC instead of warming and cooling
	TyreKpa  float64
	BoardKg  float64
	Wet      float64 // factor on rolling of that day: damp, dirt
	WindKmh  float64 // at the weather station
	FromDeg  float64
	PressHpa float64 // of the air at sea level
	Level    float64 // charge level of the fullest group when it starts, 1 for full
	Spread   float64 // imbalance, as a share of the capacity
	Age      Age
	WattsOn  float64 // drawn by a bench load instead of a board, 0 on the road
	AmpsOn   float64
}

// Outcome is what came of a ride, free of any meter's error.
type Outcome struct {
	Km, Hours         float64 // moving
	Ah, Wh            float64 // gross, out of the terminals
	RegenAh, RegenWh  float64
	MinV, PeakA       float64
	MeanPackC         float64
	SpeedKmh, SpeedSD float64
	HeadKmh           float64 // mean head wind at the rider
	ClimbM, DescentM  float64
	Stop              string // limit, cutoff, chosen
	end               state
	lastV             float64 // under load, as it ended
}

// NetWhKm is the energy from the terminals for each kilometre, less what came
// back.
func (o Outcome) NetWhKm() float64 { return (o.Wh - o.RegenWh) / o.Km }

const gravity = 9.80665 // m/s2, standard

// airDensity in kg/m3: ISO 2533 gives 1.225 at 15 degrees and 1013.25 hPa.
func airDensity(tempC, seaHpa, altitudeM float64) float64 {
	return seaHpa * 100 * math.Exp(-altitudeM/8434) / (287.05287 * (tempC + kelvin))
}

// way holds what stays the same along one ride.
type way struct {
	d        *Drive
	b        *Board
	massKg   float64
	rollN    float64 // at a crawl
	halfRhoA float64
	windMs   float64
	gradeAmp float64
	waveM    float64
	phase    float64
	turn     float64
}

func (g *rig) way(d *Drive, n *noise) way {
	b := &g.cfg.Board
	w := way{d: d, b: b, massKg: d.BoardKg + d.Rider.Kg}
	crr := b.Rolling * math.Pow(max(d.TyreKpa, 20)/b.RefTyreKpa, -b.PressureExp) * d.Route.Surface * d.Wet * math.Exp(-b.RollingPerK*(d.AirC-25))
	w.rollN = crr * w.massKg * gravity
	w.halfRhoA = 0.5 * airDensity(d.AirC, d.PressHpa, g.cfg.Climate.AltitudeM) * d.Rider.DragM2
	w.windMs = d.WindKmh / 3.6 * d.Route.Exposure
	w.waveM = 900 + 2200*n.uniform()
	w.phase = 2 * math.Pi * n.uniform()
	w.gradeAmp = d.Route.ClimbMKm / 1000 * math.Pi
	w.turn = 2 * math.Pi * n.uniform()
	return w
}

// heading returns the direction of travel at a distance, in radians, for a
// ride in laps of so many km.
func (w *way) heading(km, lap float64) float64 {
	out := w.d.Route.BearingDeg * math.Pi / 180
	bend := 0.5 * math.Sin(2*math.Pi*km/1.7+w.turn)
	switch w.d.Route.Shape {
	case "loop":
		return out + 2*math.Pi*km/lap + bend
	case "out_back":
		if math.Mod(km, lap) > lap/2 {
			return out + math.Pi + bend
		}
	}
	return out + bend
}

// thrust returns the force at the tyre in N at the speed (m/s), on the grade,
// in the head and cross wind (m/s).
func (w *way) thrust(v, grade, head, cross float64) float64 {
	rel := v + head
	flow := math.Sqrt(rel*rel + cross*cross)
	return w.rollN*(1+w.b.RollingPerMs*v) + w.massKg*gravity*grade + w.halfRhoA*flow*rel
}

// watts returns what the drive draws from the pack, and what it gives back,
// for that thrust with so many stops each second.
func (w *way) watts(v, thrust, stopsPerS float64) (out, back float64) {
	out = w.b.StandingW
	mech := thrust * v
	if mech >= 0 {
		out += mech/w.b.DriveEff + w.b.CopperWN2*thrust*thrust
	} else {
		back = -mech * w.b.RegenEff
	}
	kinetic := 0.5 * 1.04 * w.massKg * v * v * stopsPerS // 4 % for what turns
	out += kinetic / w.b.DriveEff
	// Part of a stop is coasting: rolling and drag have the rest.
	back += 0.7 * kinetic * w.b.RegenEff
	return out, back
}

// noise gives random numbers; flip mirrors the normal ones.
type noise struct {
	rng  *rand.Rand
	flip bool
}

func newNoise(a, b uint64, flip bool) *noise {
	return &noise{rng: rand.New(rand.NewPCG(a, b)), flip: flip}
}

func (n *noise) normal() float64 {
	x := clip(n.rng.NormFloat64(), 3)
	if n.flip {
		return -x
	}
	return x
}

func (n *noise) uniform() float64 {
	x := n.rng.Float64()
	if n.flip {
		return 1 - x
	}
	return x
}
