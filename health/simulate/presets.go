package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// Style is a way to ride and to keep a log.
type Style uint8

// The styles.
const (
	Rich      Style = iota // everything is written down, range tests every other week
	Flat                   // the same with an lfp pack, whose voltage says little
	WallOnly               // a meter at the wall, rest voltages, distances; no counter on board
	Messy                  // part charges, rides left out, wrong entries, missing conditions
	Monthly                // one range test a month and little else
	BenchCell              // a single cell cycled on a bench
)

// Styles lists them all.
var Styles = []Style{Rich, Flat, WallOnly, Messy, Monthly, BenchCell}

// String names the style.
func (s Style) String() string {
	names := []string{"rich", "flat", "wall_only", "messy", "monthly", "bench"}
	if int(s) < len(names) {
		return names[s]
	}
	return fmt.Sprintf("style(%d)", uint8(s))
}

// Preset draws a rider of the style: pack, board, climate and habits all
// differ from seed to seed. The log is two years long (the bench: as long as
// the cycles last) and begins on 4 March 2024 unless Start is changed.
func Preset(style Style, seed uint64) Config {
	d := drawer{rand.New(rand.NewPCG(seed, 0x707265736574+uint64(style)))}
	chemistry := []string{"nmc", "nmc", "nmc", "nca"}[d.IntN(4)]
	if style == Flat {
		chemistry = "lfp"
	}
	c := Config{Seed: seed<<3 + uint64(style), Start: time.Date(2024, 3, 4, 0, 0, 0, 0, time.FixedZone("", 3600)), Years: 2}
	if style == BenchCell {
		d.bench(&c, chemistry)
		return c
	}
	d.pack(&c, chemistry)
	stiffen(&c)
	d.board(&c)
	d.world(&c)
	d.habits(&c)
	c.Meters, c.Keeping = d.meters(&c), richKeeping()
	switch style {
	case WallOnly:
		c.Keeping.RideAh, c.Keeping.RideWh, c.Keeping.ChargeAh, c.Keeping.ChargeWh = false, false, false, false
		c.Keeping.Wall, c.Keeping.Loaded, c.Keeping.Groups, c.Keeping.PackTemp, c.Keeping.CheckEveryDays = true, false, false, false, 0
		c.Keeping.Miss = 0.1
		c.Meters.VoltStep = 0.01
	case Messy:
		c.Habits.PartCharges, c.Habits.HoldShare, c.Habits.TestEveryDays = d.between(0.4, 0.65), 0.15, d.between(25, 50)
		c.Keeping.Miss, c.Keeping.Unlogged, c.Keeping.Wrong = 0.3, 0.08, 0.03
		c.Keeping.CheckEveryDays, c.Keeping.KmErr = 60, 0.008
		c.Meters.VoltStep = 0.1
		c.Pack.TellAsnew = false
	case Monthly:
		c.Keeping.OnlyTests, c.Habits.TestEveryDays, c.Keeping.CheckEveryDays = true, 30, 90
	}
	return c
}

// drawer draws figures that are common for light boards (common practice, no
// source).
type drawer struct{ *rand.Rand }

func (d drawer) between(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }

// step draws between and rounds, as people state figures.
func (d drawer) step(lo, hi, step float64) float64 { return round(d.between(lo, hi), step) }

func (d drawer) pack(c *Config, chemistry string) {
	p := &c.Pack
	p.ID, p.Name, p.Chemistry, p.CellModel = "pack", "invented pack", chemistry, "invented-"+chemistry
	p.Series, p.Parallel = 10+d.IntN(4), 3+d.IntN(4)
	p.RatedAh, p.NominalV, p.FullV = d.step(2.4, 3.5, 0.1), 3.6, 4.2
	limit, cut := d.step(2.9, 3.15, 0.05), 2.7
	if chemistry == "lfp" {
		p.Series, p.Parallel = 12+d.IntN(5), 4+d.IntN(4)
		p.RatedAh, p.NominalV, p.FullV = d.step(1.5, 2.5, 0.1), 3.2, 3.65
		limit, cut = d.step(2.5, 2.75, 0.05), 2.2
	}
	n := float64(p.Series)
	p.LimitV, p.CutoffV = round(n*limit, 0.5), round(n*cut, 0.5)
	p.WireMohm = d.between(4, 14)
	p.HeatJK = d.between(400, 1200)           // of the case; stiffen adds the cells
	p.CoolWK = 1 / 3600.0 / d.between(1, 2.4) // of each J/K
	p.StandbyMA = math.Exp(d.between(math.Log(0.05), math.Log(0.8)))
	p.RefSpeedKmh, p.RefRiderKg = d.step(22, 30, 1), d.step(65, 95, 1)
	if d.Float64() < 0.35 { // not new when the log begins
		p.AgeYears = d.step(0.3, 2, 0.1)
		p.CyclesBefore = round(p.AgeYears*d.between(20, 90), 1)
	}
	p.TellAsnew = d.Float64() < 0.5
	p.NeedRangeKm = d.step(10, 25, 1)
	c.Cell = DrawCell(chemistry, p.RatedAh, d.Rand)
}

// stiffen adds cells until the pack sags by no more than some 4 %
// under the usual load, as a builder would.
func stiffen(c *Config) {
	p := &c.Pack
	volts := float64(p.Series) * p.NominalV
	amps := 12.5 * p.RefSpeedKmh / volts
	for p.Parallel < 10 && amps*float64(p.Series)*c.Cell.R10Mohm/1000/float64(p.Parallel) > 0.036*volts {
		p.Parallel++
	}
	cells := float64(p.Series * p.Parallel)
	p.HeatJK = cells*0.047*1000 + p.HeatJK
	p.CoolWK *= p.HeatJK
}

func (d drawer) board(c *Config) {
	b := &c.Board
	*b = Board{
		ID: "board", Name: "invented board", Tyre: "invented-tyre", MassKg: d.step(9, 16, 0.5), RefTyreKpa: d.step(250, 420, 10), LeakPctWeek: d.between(0.8, 3),
		Rolling: d.between(0.013, 0.021), RollingPerMs: d.between(0.005, 0.03), RollingPerK: d.between(0.003, 0.009), PressureExp: d.between(0.25, 0.55),
		DriveEff: d.between(0.8, 0.9), CopperWN2: d.between(0.004, 0.014), StandingW: d.between(3, 12), StartKm: d.step(0, 900, 10),
		ServiceEveryKm: 500, ServiceEveryDays: 180,
	}
	if d.Float64() < 0.4 {
		b.RegenEff = d.between(0.3, 0.6)
	}
}

func (d drawer) world(c *Config) {
	c.Climate = Climate{
		Seed: d.Uint64(), MeanC: d.between(8, 16), SeasonC: d.between(5, 11), DayC: d.between(2.5, 5), NoiseC: d.between(2.5, 4),
		WindKmh: d.between(8, 16), FromDeg: d.between(0, 360), AltitudeM: d.between(0, 600),
	}
	main := Rider{Name: "ada", Kg: c.Pack.RefRiderKg + d.between(-1.5, 1.5), DragM2: d.between(0.42, 0.62), Restless: d.between(0.08, 0.16), Peaks: d.between(1.3, 1.7)}
	main.TestKmh = c.Pack.RefSpeedKmh + d.between(-1, 1)
	main.SpeedKmh = main.TestKmh * d.between(0.9, 1.08)
	c.Riders = []Rider{main}
	if d.Float64() < 0.5 {
		other := main
		other.Name, other.Kg, other.Share = "bo", main.Kg+d.between(-20, 20), d.between(0.08, 0.25)
		other.DragM2 *= d.between(0.88, 1.12)
		other.SpeedKmh *= d.between(0.88, 1.12)
		other.Peaks = d.between(1.3, 1.7)
		c.Riders = append(c.Riders, other)
	}
	shapes := []string{"loop", "loop", "out_back", "out_back"}
	names := []string{"mill loop", "lake loop", "towpath", "ridge road"}
	for i := range 2 + d.IntN(3) {
		c.Routes = append(c.Routes, Route{
			Name: names[i], Shape: shapes[i], BearingDeg: d.between(0, 360), Km: d.between(5, 14), Surface: math.Exp(0.09 * clip(d.NormFloat64(), 2)),
			Exposure: d.between(0.25, 0.6), ClimbMKm: d.between(0.5, 8), StopsKm: d.between(0.1, 0.9), Share: d.between(0.5, 1.5),
		})
	}
	c.Pack.RefRoute = c.Routes[0].Name
	if d.Float64() < 0.3 {
		to := Route{
			Name: "to work", Shape: "one_way", BearingDeg: d.between(0, 360), Km: d.between(3, 8), Surface: math.Exp(0.08 * d.NormFloat64()), Exposure: d.between(0.2, 0.5),
			ClimbMKm: d.between(1, 6), RiseMKm: d.between(-4, 4), StopsKm: d.between(0.6, 2), Commute: 1,
		}
		from := to
		from.Name, from.Commute, from.BearingDeg, from.RiseMKm = "from work", 2, to.BearingDeg+180, -to.RiseMKm
		c.Routes = append(c.Routes, to, from)
	}
}

func (d drawer) habits(c *Config) {
	c.Habits = Habits{
		RidesWeek: d.between(2, 3.5), TestEveryDays: d.between(11, 17), ToLimit: d.between(0, 0.06), KmSpread: d.between(0.25, 0.5),
		ChargeBelow: d.between(0.55, 0.9), PartCharges: d.between(0, 0.15), HoldShare: d.between(0.2, 0.6), ChargeC: d.between(0.15, 0.35),
		Indoors: d.Float64() < 0.6, PumpDays: d.between(14, 40), PumpSpread: d.between(0.01, 0.05), WinterBreak: d.between(0.1, 0.7),
	}
	if c.Routes[len(c.Routes)-1].Commute > 0 {
		c.Habits.CommuteDays, c.Habits.RidesWeek = d.between(1, 3), c.Habits.RidesWeek*0.6
	}
}

func (d drawer) meters(c *Config) Meters {
	n := float64(c.Pack.Series)
	own := Meter{Gain: 1, DriftYear: 0.0015 * d.NormFloat64(), OffsetMA: 4 * d.NormFloat64(), Noise: d.between(0.001, 0.004), StepAh: 0.01, StepWh: 0.1}
	m := Meters{
		Ride: own, Charge: own, WallEff: d.between(0.84, 0.92), ProbeC: 0.8 * d.NormFloat64(),
		Wall:       Meter{Name: "wall", Gain: 1 + 0.012*d.NormFloat64(), DriftYear: 0.002 * d.NormFloat64(), Noise: 0.002, StepWh: 1},
		VoltOffset: 0.003 * n * d.NormFloat64(), VoltScale: 0.0008 * d.NormFloat64(), VoltNoise: 0.0015 * n, VoltStep: 0.01,
	}
	if d.Float64() < 0.4 { // the charger counts for itself
		m.Charge = Meter{Name: "charger", Gain: 1 + 0.015*d.NormFloat64(), DriftYear: 0.003 * d.NormFloat64(), Noise: 0.003, StepAh: 0.01, StepWh: 0.1, OffsetMA: 4 * d.NormFloat64()}
	}
	if d.Float64() < 0.5 {
		m.Ride.ErrorPct = 1
	}
	return m
}

func richKeeping() Keeping {
	return Keeping{
		RideAh: true, RideWh: true, ChargeAh: true, ChargeWh: true, RestVolts: true, Loaded: true, Odometer: true, Groups: true, Conditions: true, PackTemp: true,
		CheckEveryDays: 28, Miss: 0.01, RestMin: 35, KmErr: 0.003,
	}
}

func (d drawer) bench(c *Config, chemistry string) {
	if d.Float64() < 0.3 {
		chemistry = "lfp"
	}
	d.pack(c, chemistry)
	p := &c.Pack
	p.ID, p.Name, p.Series, p.Parallel, p.WireMohm, p.StandbyMA = "cell", "invented cell", 1, 1, 0, 0
	p.AgeYears, p.CyclesBefore, p.NeedRangeKm, p.RefSpeedKmh, p.RefRiderKg, p.TellAsnew = 0, 0, 0, 0, 0, false
	p.LimitV, p.CutoffV, p.HeatJK, p.CoolWK = 2.7, 2.5, 45, 0.05
	if chemistry == "lfp" {
		p.LimitV, p.CutoffV = 2.2, 2.0
	}
	c.Cell.WeakPct, c.Cell.DriftPct, c.Cell.DriftMonth = 0, 0, 0
	p.RefTempC = 24
	c.Climate = Climate{Seed: d.Uint64(), MeanC: 15, SeasonC: 8, DayC: 3, NoiseC: 3, WindKmh: 10}
	c.Bench = &Bench{DischargeC: d.step(0.5, 1, 0.1), CyclesDay: d.between(2, 4), PauseEvery: 30 + d.IntN(40), PauseDays: d.between(2, 8), CheckEvery: 25, ChamberC: 24, ChamberNoise: 0.7}
	c.Habits = Habits{ChargeC: 0.5, Indoors: true}
	c.Years = d.between(0.5, 0.9)
	c.Keeping = Keeping{RideAh: true, RideWh: true, ChargeAh: true, ChargeWh: true, RestVolts: true, Conditions: true, PackTemp: true, CheckEveryDays: 1, RestMin: 12}
	m := Meter{Gain: 1, Noise: 0.0004, StepAh: 0.0001, StepWh: 0.001}
	c.Meters = Meters{Ride: m, Charge: m, VoltNoise: 0.0005, VoltStep: 0.001}
}
