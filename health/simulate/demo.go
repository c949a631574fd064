package simulate

import (
	"time"

	"packwane/health/logbook"
)

// Demo invents two years in the lives of two boards whose riders like to go
// out together, ending at the given time: "wren", whose pack was built at home
// from nmc cells, and "otter" with an lfp pack. All of it is invented. The
// truths are those of the packs wren-pack and otter-pack.
func Demo(end time.Time) ([]logbook.Record, map[string]*Truth, error) {
	start := end.AddDate(-2, 0, 0)
	var outings []int // both take their range tests on these days
	for day := 11; day < 725; day += 23 {
		outings = append(outings, day)
	}
	truths := map[string]*Truth{}
	var all []logbook.Record
	for _, cfg := range []Config{wren(start, outings), otter(start, outings)} {
		l, err := Run(cfg)
		if err != nil {
			return nil, nil, err
		}
		for _, r := range l.Records {
			if !logbook.EndOf(r).After(end) {
				all = append(all, r)
			}
		}
		l.Truth.End = end
		truths[cfg.Pack.ID] = l.Truth
	}
	return all, truths, nil
}

// demoShared is what both boards of the demo have in common: the weather of a
// hilly inland town, and the ways around it.
func demoShared(start time.Time, outings []int) Config {
	return Config{
		Start: start, Years: 2,
		Climate: Climate{Seed: 77, MeanC: 11.5, SeasonC: 8.5, DayC: 4, NoiseC: 3.2, WindKmh: 11, FromDeg: 240, AltitudeM: 310},
		Routes: []Route{
			{Name: "orchard round", Shape: "loop", BearingDeg: 20, Km: 8.6, Surface: 1, Exposure: 0.42, ClimbMKm: 3.1, StopsKm: 0.35, Share: 1.2},
			{Name: "weir and back", Shape: "out_back", BearingDeg: 275, Km: 12.4, Surface: 1.09, Exposure: 0.55, ClimbMKm: 1.2, StopsKm: 0.15, Share: 1},
			{Name: "quarry hill", Shape: "loop", BearingDeg: 140, Km: 6.2, Surface: 0.96, Exposure: 0.36, ClimbMKm: 9.5, StopsKm: 0.6, Share: 0.6},
		},
		Habits: Habits{
			RidesWeek: 2.3, TestOn: outings, ToLimit: 0.02, KmSpread: 0.35, ChargeBelow: 0.75, PartCharges: 0.12, HoldShare: 0.35, ChargeC: 0.22,
			Indoors: true, PumpDays: 24, PumpSpread: 0.025, WinterBreak: 0.35,
		},
		Keeping: Keeping{
			RideAh: true, RideWh: true, ChargeAh: true, ChargeWh: true, RestVolts: true, Loaded: true, Odometer: true, Groups: true, Sessions: true, Conditions: true, PackTemp: true,
			CheckEveryDays: 45, Miss: 0.06, Unlogged: 0.03, Wrong: 0.008, RestMin: 35, KmErr: 0.004,
		},
		Meters: Meters{
			Ride:    Meter{Gain: 1, DriftYear: 0.001, OffsetMA: 3, Noise: 0.003, StepAh: 0.01, StepWh: 0.1, ErrorPct: 1},
			Charge:  Meter{Gain: 1, DriftYear: 0.001, OffsetMA: 3, Noise: 0.003, StepAh: 0.01, StepWh: 0.1, ErrorPct: 1},
			WallEff: 0.88, VoltOffset: 0.03, VoltNoise: 0.015, VoltStep: 0.01, ProbeC: 0.6,
		},
	}
}

func wren(start time.Time, outings []int) Config {
	c := demoShared(start, outings)
	c.Seed = 401
	c.Habits.RidesWeek = 3.1
	c.Pack = Pack{
		ID: "wren-pack", Name: "Wren's pack, built at home (invented)", Chemistry: "nmc", CellModel: "invented 3.0 Ah", Series: 12, Parallel: 4, RatedAh: 3, NominalV: 3.6, FullV: 4.2,
		LimitV: 37.5, CutoffV: 33, WireMohm: 9, HeatJK: 3100, CoolWK: 0.55, StandbyMA: 0.25, RetireSohPct: 75, NeedRangeKm: 26, RefSpeedKmh: 25, RefRiderKg: 78, RefRoute: "orchard round", TellAsnew: true,
	}
	c.Cell = drawnCell("nmc", 3, 19)
	c.Cell.Cycle500, c.Cell.CyclePow, c.Cell.KneeAt, c.Cell.KneeRate, c.Cell.KneeMax = 0.21, 0.74, 0.16, 1.2e-4, 0.0012
	c.Board = Board{
		ID: "wren", Name: "Wren (invented)", MassKg: 12.5, Tyre: "7 inch air (invented)", RefTyreKpa: 310, LeakPctWeek: 1.6, Rolling: 0.0165, RollingPerMs: 0.015, RollingPerK: 0.006, PressureExp: 0.4,
		DriveEff: 0.84, CopperWN2: 0.009, StandingW: 6, RegenEff: 0.45, StartKm: 140, ServiceEveryKm: 600, ServiceEveryDays: 200,
	}
	c.Riders = []Rider{{Name: "mika", Kg: 77, DragM2: 0.5, SpeedKmh: 24.5, TestKmh: 25, Restless: 0.12, Peaks: 1.5}, {Name: "joss", Kg: 89, DragM2: 0.55, SpeedKmh: 23, TestKmh: 24, Restless: 0.1, Peaks: 1.4, Share: 0.12}}
	c.Events = []Event{
		{Day: 205, What: "inspection", OnBoard: true, Passed: true, Note: "invented: bearings cleaned, tyres turned"},
		{Day: 331, What: "impact", Note: "invented: fell off a kerb on its side"},
		{Day: 333, What: "inspection", Passed: true, Note: "invented: opened by a workshop, nothing found"},
		{Day: 420, What: "repair", OnBoard: true, Passed: true, Note: "invented: new tyres and tubes of the same kind"},
		{Day: 540, What: "balance", Note: "invented: held on the charger for a night, with someone at home"},
	}
	return c
}

func otter(start time.Time, outings []int) Config {
	c := demoShared(start, outings)
	c.Seed = 402
	c.Pack = Pack{
		ID: "otter-pack", Name: "Otter's pack (invented)", Chemistry: "lfp", CellModel: "invented 2.4 Ah", Series: 14, Parallel: 6, RatedAh: 2.4, NominalV: 3.2, FullV: 3.65,
		LimitV: 36.5, CutoffV: 31, WireMohm: 7, HeatJK: 4600, CoolWK: 0.7, StandbyMA: 0.4, NeedRangeKm: 30, RefSpeedKmh: 24, RefRiderKg: 88, RefRoute: "orchard round",
		AgeYears: 0.6, CyclesBefore: 34,
	}
	c.Cell = drawnCell("lfp", 2.4, 23)
	c.Board = Board{
		ID: "otter", Name: "Otter (invented)", MassKg: 16, Tyre: "8 inch air (invented)", RefTyreKpa: 270, LeakPctWeek: 2.2, Rolling: 0.0155, RollingPerMs: 0.012, RollingPerK: 0.005, PressureExp: 0.36,
		DriveEff: 0.86, CopperWN2: 0.007, StandingW: 8, StartKm: 610, ServiceEveryKm: 800, ServiceEveryDays: 365,
	}
	c.Riders = []Rider{{Name: "joss", Kg: 89, DragM2: 0.55, SpeedKmh: 23.5, TestKmh: 24, Restless: 0.1, Peaks: 1.4}}
	c.Habits.RidesWeek, c.Habits.Indoors = 1.6, false
	winter := 0 // a January of the log
	for start.AddDate(0, 0, winter).Month() != time.January {
		winter++
	}
	c.Keeping.Wrong = 0
	c.Events = []Event{
		{Day: winter + 6, What: "storage", Days: 50, Note: "invented: put away for the winter at about half charge"},
		{Day: 310, What: "inspection", OnBoard: true, Passed: true, Note: "invented: yearly service, pressure and brakes"},
		{Day: 655, What: "water", Note: "invented: ridden through a flooded underpass"},
	}
	return c
}
