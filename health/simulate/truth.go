package simulate

import (
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"packwane/health/logbook"
)

// Log is a simulated log and what really was.
type Log struct {
	Records []logbook.Record // board, pack, then the rest in the order of time
	Truth   *Truth
}

// Truth answers what no record tells, at any time: the past as it was, the
// future as it will come if the habits go on. It is safe for use by several
// goroutines at once.
type Truth struct {
	Wrong []Wrong   // entries of the log that are wrong
	End   time.Time // of the log

	g     *rig
	mu    sync.Mutex // guards life
	life  *sim
	asnew Facts
	told  float64 // Ah as new as the pack record tells, 0 where it does not
}

// Facts is the state of a pack at one moment by the contract's words, free of
// noise.
type Facts struct {
	CapacityAh           float64 // as the pack's own meter counts
	CapacityWh           float64
	SohPct               float64
	ResistanceMohm       float64
	ResistanceGrowthPct  float64
	RangeKm              float64 // 0 on the bench, like the next
	ConsumptionWhKm      float64
	RoundTripPct         float64
	SelfDischargePctMon  float64
	EquivalentFullCycles float64
	ThroughputAh         float64
	ThroughputKWh        float64
}

// Run lives the configured years and returns the log with its truth.
func Run(cfg Config) (*Log, error) {
	if err := cfg.Validate(); err != nil {
		return nil, err
	}
	c := cfg
	c.Riders = append([]Rider(nil), cfg.Riders...)
	c.Routes = append([]Route(nil), cfg.Routes...)
	c.Events = slices.SortedStableFunc(slices.Values(cfg.Events), func(a, b Event) int { return a.Day - b.Day })
	m := newSim(&c)
	m.keep = newKeeper(&c)
	days := int(math.Ceil(c.Years * 365.25))
	t := &Truth{g: m.g, life: m, End: m.at(float64(days) * 24)}
	t.asnew = t.facts(&wear{meanZ: 0.5}, 0)
	if t.asnew.CapacityAh <= 0 {
		return nil, fmt.Errorf("simulate: pack %s cannot carry the board even when new: want more cells, a lower limit or less load", c.Pack.ID)
	}
	if c.Pack.TellAsnew {
		n := newNoise(c.Seed, 0x61736e6577, false)
		t.told = round(t.asnew.CapacityAh*(1+0.004*n.normal()), 0.01)
	}
	pack, board := m.makers(t.told)
	m.live(days)
	if c.Pack.LimitV != cfg.Pack.LimitV { // set anew meanwhile
		first := t.asnew.CapacityAh
		t.asnew = Facts{}
		t.asnew = t.facts(&wear{meanZ: 0.5}, 0)
		t.told *= t.asnew.CapacityAh / first
	}
	log := &Log{Records: []logbook.Record{pack}, Truth: t}
	if board != nil {
		log.Records = []logbook.Record{board, pack}
	}
	late := map[string]bool{}
	for _, r := range m.keep.records {
		if logbook.EndOf(r).After(t.End) {
			late[logbook.HeadOf(r).ID] = true
			continue
		}
		log.Records = append(log.Records, r)
	}
	t.Wrong = slices.DeleteFunc(m.keep.wrong, func(w Wrong) bool { return late[w.Record] })
	m.keep = nil
	return log, nil
}

// AsNew returns the facts of the pack when it was new, at the reference
// conditions.
func (t *Truth) AsNew() Facts { return t.asnew }

// At returns the facts at a time, which may lie after the end of the log.
func (t *Truth) At(when time.Time) Facts {
	w, years := t.wearAt(when)
	return t.facts(&w, years)
}

// wearAt returns the wear at a time, between the midnights around it.
func (t *Truth) wearAt(when time.Time) (wear, float64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	days := max(0, when.Sub(t.life.start()).Hours()/24)
	n := int(days)
	t.life.live(n + 1)
	f := days - float64(n)
	return between(&t.life.days[n], &t.life.days[n+1], f), days / 365.25
}

func between(a, b *wear, f float64) wear {
	mix := func(x, y float64) float64 { return x + f*(y-x) }
	return wear{
		cycles: mix(a.cycles, b.cycles), days: mix(a.days, b.days), knee: mix(a.knee, b.knee), overhang: mix(a.overhang, b.overhang), meanZ: mix(a.meanZ, b.meanZ),
		hidden: mix(a.hidden, b.hidden), usual: mix(a.usual, b.usual), gone: b.gone, throughA: mix(a.throughA, b.throughA), throughW: mix(a.throughW, b.throughW),
	}
}

func (t *Truth) facts(w *wear, years float64) Facts {
	a := t.g.age(w, true)
	f := Facts{ThroughputAh: w.throughA, ThroughputKWh: w.throughW / 1000}
	gain := 1 + t.g.cfg.Meters.Ride.DriftYear*years
	if t.g.cfg.Meters.Ride.Name != "" {
		gain = 1
	}
	drives := t.references(a)
	for i := range drives {
		o := t.Go(drives[i])
		f.CapacityAh += (o.Ah - o.RegenAh) * gain / float64(len(drives))
		f.CapacityWh += (o.Wh - o.RegenWh) * gain / float64(len(drives))
		f.RangeKm += o.Km / float64(len(drives))
	}
	if f.RangeKm > 0 {
		f.ConsumptionWhKm = f.CapacityWh / gain / f.RangeKm
	}
	f.ResistanceMohm = t.resistance(a)
	f.ResistanceGrowthPct = 0
	base, r := t.asnew.CapacityAh, t.asnew.ResistanceMohm
	if base == 0 { // this is the new pack
		base, r = f.CapacityAh, f.ResistanceMohm
	}
	if t.told > 0 {
		base = t.told
	}
	f.SohPct = 100 * f.CapacityAh / base
	f.ResistanceGrowthPct = 100 * (f.ResistanceMohm/r - 1)
	f.EquivalentFullCycles = w.throughA / base
	f.RoundTripPct, f.SelfDischargePctMon = t.losses(drives[0], a)
	return f
}

// resistance is the pack's, by a 10 s pulse at 25 degrees and mid charge, in
// mohm, at four fifths of the rated capacity per hour.
func (t *Truth) resistance(a Age) float64 {
	p := &t.g.cfg.Pack
	s := state{z: 0.5, tempC: 25}
	return 1000 * t.g.pulse(s, a, 0.8*p.RatedAh*float64(p.Parallel), 10)
}

// losses returns the round trip of a reference cycle, at the terminals, and
// the self-discharge in a month of rest at the reference temperature.
func (t *Truth) losses(d Drive, a Age) (roundTripPct, selfPct float64) {
	s := t.g.begin(&d)
	o := t.g.run(&d, s, toLimitKm, newNoise(1, 0x726566, false))
	s = o.end
	s.slow = [2]float64{}
	in := t.g.charge(&s, a, d.AirC, t.g.cfg.Habits.ChargeC, 2, 0)
	c := &t.g.cfg.Cell
	self := c.SelfPctMon * math.Exp(4200*(1/refK-1/(d.AirC+kelvin)))
	return 100 * (o.Wh - o.RegenWh) / in.Wh, self + t.g.cfg.Pack.StandbyMA/10*730.5/t.g.ahOf(a)
}

// Retired returns when, and at how many equivalent full cycles, the state of
// health first falls below the pack's retire level, and whether it does within
// the given years after the end of the log.
func (t *Truth) Retired(withinYears float64) (when time.Time, cycles float64, ok bool) {
	start := t.life.start()
	level := t.g.cfg.retirePct()
	below := func(day int) bool { return t.At(start.AddDate(0, 0, day)).SohPct < level }
	last := int(t.End.Sub(start).Hours()/24 + withinYears*365.25)
	lo, hi := 0, 0
	for !below(hi) {
		if hi >= last {
			return time.Time{}, 0, false
		}
		lo, hi = hi, min(hi+60, last)
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; below(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	when = start.AddDate(0, 0, hi)
	return when, t.At(when).EquivalentFullCycles, true
}
