package simulate

import (
	"errors"
	"fmt"
	"time"
)

// Config says who rides what, where and how it is written down. Preset draws
// a complete one; every figure may be changed before Run.
type Config struct {
	Seed  uint64    // of all that is left to chance, except the weather
	Start time.Time // first day of the log; its offset is used for all times
	Years float64   // length of the log

	Pack    Pack
	Cell    Cell
	Board   Board
	Climate Climate
	Riders  []Rider // the first is the usual one
	Routes  []Route
	Habits  Habits
	Meters  Meters
	Keeping Keeping
	Events  []Event
	Bench   *Bench // a cell cycled on a bench instead of a board that is ridden
}

// Pack is what the maker of the pack knows.
type Pack struct {
	ID, Name     string
	Chemistry    string // nmc, nca, lco, lmo, lfp
	CellModel    string
	Series       int
	Parallel     int
	RatedAh      float64 // of one cell
	NominalV     float64 // of one cell
	FullV        float64 // of one cell
	LimitV       float64 // of the pack, under load
	CutoffV      float64 // of the pack
	WireMohm     float64 // leads, plugs and switches of the pack
	HeatJK       float64 // heat capacity of the pack with its case
	CoolWK       float64 // heat given to the air for each kelvin above it
	StandbyMA    float64 // drain of the electronics while it rests
	AgeYears     float64 // in service before the log begins
	CyclesBefore float64 // equivalent full cycles before the log begins
	RetireSohPct float64 // 70 where 0
	NeedRangeKm  float64 // 0 where the owner has not said
	RefTempC     float64 // 25 where 0
	RefSpeedKmh  float64 // 0 where not said: the usual rider's speed on tests
	RefRiderKg   float64 // 0 where not said: the usual rider
	RefRoute     string  // "" for the average of the routes
	TellAsnew    bool    // the owner measured a full cycle as new
}

// Board is the vehicle without its pack.
type Board struct {
	ID, Name         string
	MassKg           float64 // ready to ride, pack in
	Tyre             string
	RefTyreKpa       float64
	LeakPctWeek      float64 // of the gauge pressure
	Rolling          float64 // coefficient on the plain reference surface, 25 degrees, reference pressure
	RollingPerMs     float64 // its growth with speed, for each m/s
	RollingPerK      float64 // its fall with temperature, for each kelvin
	PressureExp      float64 // rolling goes as pressure to the power of minus this
	DriveEff         float64 // of the drive at light load
	CopperWN2        float64 // heat in the windings, W for each N squared of thrust
	StandingW        float64 // electronics and lights while it is on
	RegenEff         float64 // share of the braking energy that comes back; 0 without regeneration
	StartKm          float64 // odometer when the log begins
	ServiceEveryKm   float64
	ServiceEveryDays float64
}

// Rider is a person with gear.
type Rider struct {
	Name     string
	Kg       float64
	DragM2   float64 // drag area, standing on the board
	SpeedKmh float64 // usual moving speed
	TestKmh  float64 // moving speed held on a range test
	Restless float64 // standard deviation of the speed over its mean
	Peaks    float64 // battery current at its peaks over the mean of a segment
	Share    float64 // of the rides
}

// Route is a way that is ridden again and again.
type Route struct {
	Name       string
	Shape      string  // loop, out_back, one_way
	BearingDeg float64 // of the way out
	Km         float64 // usual length
	Surface    float64 // factor on rolling resistance
	Exposure   float64 // wind at the rider over the wind at the weather station
	ClimbMKm   float64 // climbed for each kilometre
	RiseMKm    float64 // net rise for each kilometre, one_way alone
	StopsKm    float64 // stops for each kilometre
	Share      float64 // of the pleasure rides
	Commute    int     // 1 the way to work, 2 the way back, else 0
}

// Climate is a seasonal temperature with daily noise, and wind.
type Climate struct {
	Seed      uint64 // of the weather, so that several packs can share one
	MeanC     float64
	SeasonC   float64 // half the difference between midsummer and midwinter
	DayC      float64 // half the difference between afternoon and night
	NoiseC    float64 // standard deviation of the daily mean
	WindKmh   float64 // median at the weather station
	FromDeg   float64 // prevailing direction
	AltitudeM float64
}

// Habits say when and how far is ridden, and how it is charged.
type Habits struct {
	RidesWeek     float64 // pleasure rides
	CommuteDays   float64 // a week
	TestEveryDays float64 // range tests to the limit; 0 for none
	TestOn        []int   // days of the log for them instead; none after the last
	ToLimit       float64 // share of the pleasure rides that go on to the limit
	KmSpread      float64 // standard deviation of the log of a ride's length
	ChargeBelow   float64 // charge level under which it is charged after a ride
	PartCharges   float64 // share of the charges that end early
	HoldShare     float64 // share of the full charges that are held for balancing
	ChargeC       float64 // charging current over the capacity, per hour
	Indoors       bool    // the pack rests at room temperature
	PumpDays      float64 // between two visits with the pump
	PumpSpread    float64 // standard deviation of the pumped pressure over the wanted one
	WinterBreak   float64 // how far riding falls off near freezing, 0 to 1
}

// Event is something done to the pack or the board, or that happened to them.
// It becomes a service record. Some have consequences: balance takes the
// imbalance away, storage keeps the rider off until its end, cells_replaced
// begins a new life.
type Event struct {
	Day     int    // of the log
	What    string // the kind of the service record, StringLost or LimitSet
	OnBoard bool   // else on the pack
	Days    int    // length of a storage or a snooze
	Passed  bool   // of an inspection or a repair
	Note    string
	Share   float64 // of the cells in parallel, where some are lost
	LimitV  float64 // of the pack, where it is set anew
}

// StringLost is an event that nobody writes down: some of the cells in parallel come
// off at once.
const StringLost = "string_lost"

// LimitSet is an event that ends rides at another limit from then on. The truth is
// that of the limit at the end of the log, also of the pack as new.
const LimitSet = "limit_set"

// Bench is a cell that is charged and discharged over and over.
type Bench struct {
	DischargeC   float64 // current over rated capacity, per hour
	CyclesDay    float64
	PauseEvery   int     // cycles between two pauses
	PauseDays    float64 // length of a pause
	CheckEvery   int     // cycles between two resistance checks
	ChamberC     float64
	ChamberNoise float64 // kelvin
}

// Validate says what makes the configuration unusable.
func (c *Config) Validate() error {
	switch p := c.Pack; {
	case curves[p.Chemistry] == nil:
		return fmt.Errorf("simulate: chemistry %q: want one of nmc, nca, lco, lmo, lfp", p.Chemistry)
	case p.Series < 1 || p.Parallel < 1:
		return fmt.Errorf("simulate: %d series x %d parallel: want at least 1 of each", p.Series, p.Parallel)
	case !(p.LimitV > 0) || p.LimitV >= float64(p.Series)*p.FullV:
		return fmt.Errorf("simulate: limit %g V: want pack volts between 0 and %g", p.LimitV, float64(p.Series)*p.FullV)
	case !(c.Years > 0) || c.Years > 30:
		return fmt.Errorf("simulate: %g years: want above 0, up to 30", c.Years)
	case c.Start.IsZero():
		return errors.New("simulate: no start: want the first day of the log")
	case !(c.Cell.CapacityAh > 0) || !(c.Cell.R10Mohm > 0):
		return errors.New("simulate: no cell: want the figures that DrawCell gives")
	}
	if c.Bench != nil {
		return nil
	}
	if len(c.Riders) == 0 || len(c.Routes) == 0 {
		return errors.New("simulate: want at least one rider and one route")
	}
	if c.Pack.RefRoute != "" && c.routeIndex(c.Pack.RefRoute) < 0 {
		return fmt.Errorf("simulate: reference route %q: want one of the routes", c.Pack.RefRoute)
	}
	return nil
}

func (c *Config) routeIndex(name string) int {
	for i := range c.Routes {
		if c.Routes[i].Name == name {
			return i
		}
	}
	return -1
}

func (c *Config) refTempC() float64 {
	if c.Pack.RefTempC != 0 {
		return c.Pack.RefTempC
	}
	return 25
}

func (c *Config) retirePct() float64 {
	if c.Pack.RetireSohPct > 0 {
		return c.Pack.RetireSohPct
	}
	return 70
}
