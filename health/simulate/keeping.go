package simulate

import "math"

// Keeping says what the rider writes down. It changes nothing of what happens:
// the same seed rides the same rides however they are kept.
type Keeping struct {
	RideAh, RideWh     bool // what the meter on board shows after a ride
	ChargeAh, ChargeWh bool // what the dc meter shows after a charge
	Wall               bool // charges by a meter at the wall instead
	RestVolts          bool
	Loaded             bool // min_v and peak_a
	Odometer           bool
	Groups             bool // the groups' volts at each check
	Sessions           bool // range tests carry the name of the outing
	Conditions         bool // temperature, wind, tyre, rider, climb, speed
	PackTemp           bool // the pack's own sensor, on rides, charges and checks
	OnlyTests          bool // other rides are left out
	CheckEveryDays     float64
	Miss               float64 // chance of each optional figure to be left out
	Unlogged           float64 // share of the rides left out, of those not to the limit
	Wrong              float64 // share of the rides and charges with one wrong entry
	RestMin            float64 // usual wait before a rest voltage is read
	KmErr              float64 // standard deviation of a distance, as a share
}

// Meter is what is between the truth and a number in the log.
type Meter struct {
	Name      string // "" for the pack's own
	Gain      float64
	DriftYear float64 // growth of the gain in a year
	OffsetMA  float64 // counted while nothing flows
	Noise     float64 // standard deviation of one reading, as a share
	StepAh    float64 // what the display rounds to
	StepWh    float64
	ErrorPct  float64 // as the rider states it; 0 where not said
}

// Meters are the rider's instruments.
type Meters struct {
	Ride    Meter
	Charge  Meter
	Wall    Meter
	WallEff float64 // dc energy over wall energy

	VoltOffset, VoltScale, VoltNoise, VoltStep float64 // of the voltmeter, pack volts
	ProbeC                                     float64 // error of the pack's temperature sensor
}

// reads returns what the meter shows for a true count over some hours.
func (m *Meter) reads(truth, years, hours, unitsPerAh, step float64, n *noise) float64 {
	v := truth*(m.Gain+m.DriftYear*years)*(1+m.Noise*n.normal()) + m.OffsetMA/1000*hours*unitsPerAh
	return round(max(0, v), step)
}

// volts returns what the voltmeter shows.
func (m *Meters) volts(v float64, n *noise) float64 {
	return round(v*(1+m.VoltScale)+m.VoltOffset+m.VoltNoise*n.normal(), m.VoltStep)
}

// round returns the multiple of step nearest to v, as short a decimal as the
// step is.
func round(v, step float64) float64 {
	if step <= 0 {
		return v
	}
	if inv := math.Round(1 / step); step < 1 && inv > 1 {
		return math.Round(v*inv) / inv
	}
	return math.Round(v/step) * step
}
