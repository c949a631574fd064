package report

import (
	"fmt"
	"math"
	"slices"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Health is the answer to "what is this pack now?".
type Health struct {
	Pack                  string         `json:"pack"`
	AsOf                  string         `json:"as_of"`
	Records               map[string]int `json:"records"`
	CapacityAh            *Estimate      `json:"capacity_ah"`
	CapacityWh            *Estimate      `json:"capacity_wh"`
	SohPct                *Estimate      `json:"soh_pct"`
	ResistanceMohm        *Estimate      `json:"resistance_mohm"`
	ResistanceGrowthPct   *Estimate      `json:"resistance_growth_pct"`
	RoundTripPct          *Estimate      `json:"round_trip_pct"`
	SelfDischargePctMonth *Estimate      `json:"self_discharge_pct_month"`
	EquivalentFullCycles  *Estimate      `json:"equivalent_full_cycles"`
	EnergyThroughputKwh   *Estimate      `json:"energy_throughput_kwh"`
	CapacityThroughputAh  *Estimate      `json:"capacity_throughput_ah"`
	Fade                  *Fade          `json:"fade"`
	EndOfLife             *EndOfLife     `json:"end_of_life"`
	RangeKm               *Estimate      `json:"range_km"`
	NextTestKm            *Estimate      `json:"next_test_km"`
	ConsumptionWhPerKm    *Estimate      `json:"consumption_wh_per_km"`
	Warnings              []Warning      `json:"warnings"`
}

// Fade is how the capacity fades.
type Fade struct {
	Model           string             `json:"model"`
	CycleLossPct    *Estimate          `json:"cycle_loss_pct"`    // so far, of the capacity as new
	AtOncePct       *Estimate          `json:"at_once_pct"`       // of what there was then; null where the capacity never fell at once
	CalendarLossPct *Estimate          `json:"calendar_loss_pct"` // so far
	CyclesTo80      *Estimate          `json:"cycles_to_80_pct"`  // of the rated capacity, by cycling alone
	Shapes          map[string]float64 `json:"shapes"`            // how far each family of measured cells resembles it, shares
}

// EndOfLife is where the state of health crosses the retire level.
type EndOfLife struct {
	SohPct               float64       `json:"soh_pct"`
	EquivalentFullCycles *Estimate     `json:"equivalent_full_cycles"`
	Date                 *DateEstimate `json:"date"`
}

// HealthOf reads the state of a pack off a fit of its history.
func HealthOf(h *logbook.History, fit *model.Fit) *Health {
	known := fit.Known()
	now := fit.At(h.AsOf)
	r := &Health{Pack: h.Pack.ID, AsOf: logbook.FormatTime(h.AsOf), Records: counts(h)}
	r.CapacityAh, r.CapacityWh = when(known.Capacity, now.CapacityAh), when(known.Capacity, now.CapacityWh)
	r.SohPct = when(known.Capacity, now.SohPct)
	r.ResistanceMohm = when(known.Resistance, now.ResistanceMohm)
	r.ResistanceGrowthPct = when(known.Growth, now.GrowthPct)
	r.RoundTripPct = when(known.DirectCharge && known.Capacity, fit.RoundTripPct())
	r.SelfDischargePctMonth = when(known.SelfDischarge, fit.SelfDischargePctMonth())
	r.EquivalentFullCycles = estimate(now.EquivalentFullCycles)
	r.CapacityThroughputAh = estimate(now.TotalAh)
	r.EnergyThroughputKwh = estimate(now.TotalKwh)
	r.RangeKm = when(known.Capacity && known.Road, now.RangeKm)
	r.NextTestKm = when(known.Capacity && known.Road, now.NextTestKm)
	r.ConsumptionWhPerKm = when(known.Road, now.WhPerKm)
	if known.Capacity {
		r.Fade = fadeOf(fit)
		r.EndOfLife = endOfLife(h.Pack.RetireSohPct.Or(logbook.DefaultRetireSohPct), fit)
	}
	r.Warnings = healthWarnings(h, fit, known, r)
	return r
}

func counts(h *logbook.History) map[string]int {
	return map[string]int{
		"charge": len(h.Charges), "ride": len(h.Rides), "check": len(h.Checks), "service": len(h.Services), "setup": len(h.Setups),
		"board": len(h.Boards), "pack": 1,
	}
}

func fadeOf(fit *model.Fit) *Fade {
	f := fit.Fade()
	shapes := map[string]float64{}
	for name, share := range f.Families {
		if share >= .005 {
			shapes[name] = math.Round(share*1000) / 1000
		}
	}
	return &Fade{
		Model:        "mixture of measured fade shapes over equivalent full cycles, plus a power law of time",
		CycleLossPct: estimate(f.CycleLossPct), AtOncePct: estimate(f.AtOncePct), CalendarLossPct: estimate(f.CalendarLossPct), CyclesTo80: estimate(f.CyclesTo80), Shapes: shapes,
	}
}

func endOfLife(sohPct float64, fit *model.Fit) *EndOfLife {
	cycles, days := fit.EndOfLife(sohPct / 100)
	return &EndOfLife{SohPct: sohPct, EquivalentFullCycles: estimate(cycles), Date: dateEstimate(days)}
}

// leavesLittle is the share of its rating below which what a full cycle gives says
// more of its limit than of the pack.
const leavesLittle = .2

// Codes of the warnings that a pack is not to be ridden.
const (
	CodeStopRiding = "stop_riding"
	CodeRetired    = "retired"
)

// Bars reports whether the warning says that a pack is not to be ridden.
func (w Warning) Bars() bool { return w.Code == CodeStopRiding || w.Code == CodeRetired }

// WithoutBars leaves out what bars a pack from being ridden, where a page says that
// above all else.
func WithoutBars(all []Warning) []Warning {
	return slices.DeleteFunc(slices.Clone(all), Warning.Bars)
}

// barred says why a pack is not to be ridden, if it is not.
func barred(k Known) []Warning {
	var out []Warning
	h := k.History
	for _, r := range DueFor(h, k.Fit, h.AsOf, StopRiding, Retire) {
		if r.bars() {
			out = append(out, warning(CodeStopRiding, say("stop riding: ", r.why)))
		}
	}
	if at := h.RetiredAt(); !at.IsZero() {
		out = append(out, Warning{Code: CodeRetired, Text: RetiredWords(h, at)})
	}
	return out
}

// barredOf says it behind the pack's id, where there are several.
func barredOf(k Known) (out []Warning) {
	for _, w := range barred(k) {
		out = append(out, warning(w.Code, say(k.History.Pack.ID+": ", w.phrase())))
	}
	return out
}

// RetiredWords says what is to be done with a pack that was retired at a time.
func RetiredWords(h *logbook.History, at time.Time) string {
	return "the pack was retired on " + h.Day(at) + ": do not ride or charge it; keep it where nothing can burn until it is collected under your local codes"
}

// healthWarnings says for every figure that is null what is missing, and what
// casts doubt on the others.
func healthWarnings(h *logbook.History, fit *model.Fit, known model.Known, r *Health) []Warning {
	w := []Warning{}
	add := func(is bool, code, format string, args ...any) {
		if is {
			w = append(w, Warning{Code: code, Text: fmt.Sprintf(format, args...)})
		}
	}
	p := h.Pack
	w = append(w, barred(Known{h, fit})...)
	add(len(h.Rides)+len(h.Charges)+len(h.Checks) == 0, "no_records", "nothing was logged for this pack yet")
	add(!known.Capacity, "capacity_unknown", "no ride or charge tells the capacity yet: log a full charge and a ride to the limit with its Ah, Wh or distance")
	add(!known.Resistance, "resistance_unknown", "no check tells the resistance: log one pulse or meter reading with the charge level and the pack's temperature")
	add(known.Resistance && !known.Growth, "resistance_growth_unknown", "too few checks, or none of its early days, tell how much the resistance has grown")
	add(!known.DirectCharge, "round_trip_unknown", "no charge was metered in Wh on the DC side")
	add(!known.SelfDischarge, "self_discharge_unknown", "needs rest voltages before and after some weeks at rest")
	add(known.Capacity && known.PastUnknown, "past_unknown", "nothing says since when the pack is in use (in_service), how many cycles it had before (cycles_before) or what it gave as new (asnew_ah): it may have been bought used, which widens the state of health, and its cycles are those of the log")
	add(known.Capacity && !known.AsNew && !known.PastUnknown, "as_new_from_rating", "the capacity as new is not measured (asnew_ah) and the log begins later: it is taken from the rating, which widens the state of health")
	bench := fit.Bench() && len(since(h.Rides, replacedAt(h))) > 0
	add(!bench && known.Capacity && !known.Road, "range_unknown", "what is logged does not tell the consumption yet: log distances with Ah, Wh or a stop at the limit")
	add(known.Road && !(known.Climb && known.Wind), "way_not_logged", "hardly a ride says its %s: the range is that of the usual ways, and a level one in still air may go farther than the interval says", wayUnsaid(known))
	add(bench, "no_road_rides", "the log holds bench discharges only: range and consumption need rides with a distance")
	limit := LimitOf(h, fit)
	add(limit.Low.OK, "limit_too_low", "limit_v of %.4g V %s: that cannot be true, and a full cycle is counted down to %.4g V", limit.Low.V, limit.why, limit.V)
	add(!limit.Stated && !limit.Low.OK, "limit_assumed", "the pack has no limit_v: %.3g V is assumed from its chemistry or its cut-off; a wrong limit shifts every full cycle", limit.V)
	if rated := p.Parallel.V * p.CellCapacityAh.V; r.CapacityAh != nil && rated > 0 {
		if r.CapacityAh.Value < leavesLittle*rated {
			w = append(w, warning("limit_leaves_little", say("at ", exact(p.RefTempC.Or(logbook.DefaultRefTempC), units.Celsius), " the limit of ", exact(limit.V, units.Volt), " leaves only ", about(r.CapacityAh, units.Ah), " of the rated ", exact(rated, units.Ah), ", so that little else follows: check limit_v and ref_temp_c, and the pack before it is ridden")))
		}
	}
	add(p.Chemistry == "", "chemistry_assumed", "the pack has no chemistry: nmc is assumed")
	add(!p.Series.OK, "series_unknown", "the pack has no series count: its voltages are not used")
	add(!p.CellCapacityAh.OK, "rating_unknown", "the pack has no rated capacity: what its records gave and took stands in for it, loosely")
	add(known.SeasonYears < 1 && known.Capacity, "first_year", "with less than a year of records the season and the fade cannot be told apart: the intervals allow for both")
	add(fit.Status == model.Stalled || fit.Status == model.Stopped, "fit_"+string(fit.Status), "the fit did not settle: treat the figures with care")
	if step, is := fit.Step(); is {
		left := estimate(step.LeftPct)
		words := say(about(left, units.Pct)).in(units.Metric)
		day := h.Day(step.Ride.At)
		add(left.Value <= mostLeftPct, "capacity_fell_at_once", "from about %s on the pack holds at once only %s of what it did: cells may have come off, or one group fail; do not ride or charge it until somebody trained has looked at it", day, words)
		add(left.Value > 100, "capacity_rose_at_once", "from about %s on the pack holds at once %s of what it did: log a service record if cells were replaced, and look at the meter if not", day, words)
	}
	if since, more, is := fit.AnotherCharger(); is {
		add(true, "charger_changed", "from %s on the wall meter counts %+.0f %% for what was ridden: that is taken for another charger or meter; say so in its charges (meter=NAME), and look at charger and pack if there is none", h.Day(since), more)
	}
	if r.EndOfLife != nil {
		add(r.EndOfLife.EquivalentFullCycles == nil, "end_of_life_not_in_sight", "within %d years the state of health does not come down to %.3g %% in half of what is believable", model.HorizonYears, r.EndOfLife.SohPct)
		add(r.EndOfLife.EquivalentFullCycles != nil && r.EndOfLife.EquivalentFullCycles.High == nil, "end_of_life_may_not_come", "the late bound of the end of life lies beyond %d years", model.HorizonYears)
	}
	w = append(w, unridden(Known{h, fit}, model.Way{})...)
	if n := len(fit.Misreadings()); n > 0 {
		figures := "1 figure does not fit the rest and was"
		if n > 1 {
			figures = fmt.Sprintf("%d figures do not fit the rest and were", n)
		}
		if auditLists(h, fit) {
			add(true, "misreadings", "%s put aside: `packwane audit %s` lists those that may be slips", figures, p.ID)
		} else { // what led to it is not told from the log
			add(true, "misreadings", "%s put aside; a charge or ride before may be missing, or what a ride met (wind, climb, tyre)", figures)
		}
	}
	return w
}

func wayUnsaid(known model.Known) string {
	switch {
	case known.Climb:
		return "wind"
	case known.Wind:
		return "climb"
	}
	return "climb or its wind"
}

// monthsAhead returns the date n calendar months after t, held within its
// month.
func monthsAhead(t time.Time, n int) time.Time {
	first := time.Date(t.Year(), t.Month()+time.Month(n), 1, t.Hour(), t.Minute(), t.Second(), 0, t.Location())
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(t.Day(), last)-1)
}
