package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
)

func newHealth(a *app) *cobra.Command {
	return &cobra.Command{
		Use: "health [PACK]", Short: "Show how far a full charge goes now, and how the pack is", GroupID: groupAnswers,
		Long: `Shows what a full charge gives now and how far it goes at reference conditions,
how far the pack has aged, and when it will be due to retire. Every figure is
the middle of what the log leaves believable and the bounds that hold 90 % of
it. What the log cannot tell is unknown, with a note on what to record.

PACK may be left out where there is only one, or where the one last logged for
is meant.`,
		Example: `  packwane health kite-a
  packwane health kite-a --as-of 2026-05-03 --json`,
		Args: between(0, 1),
		RunE: func(_ *cobra.Command, args []string) error {
			q, err := a.about(args)
			if err != nil {
				return err
			}
			fit := q.fit()
			r := report.HealthOf(q.history, fit)
			if a.json {
				return a.printJSON(r)
			}
			return a.showHealth(q, fit, r, a.streams.OutTerminal)
		},
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
}

// showHealth prints the health of a pack, the kilometres first.
func (a *app) showHealth(q *question, fit *model.Fit, r *report.Health, aligned bool) error {
	f := newFigures(q.who.System, r.Warnings)
	limit := limitOf(q, fit)
	healthRange(f, q.history.Pack, r, limit.name)
	healthPack(f, r)
	if aligned {
		course := report.CourseOf(q.history, fit, 0, nil)
		f.drawCourse("capacity so far", units.Ah, course.CapacityAh)
	}
	healthLife(f, r)
	if aligned {
		if err := a.title(q, packWords(q.history)); err != nil {
			return err
		}
		if err := a.warnRider(q, fit); err != nil {
			return err
		}
	}
	if err := a.writeFigures(f, aligned); err != nil || !aligned {
		return err
	}
	_, err := fmt.Fprint(a.streams.Out, "\n", wrap("", "Bounds hold 90 % of what the log leaves believable. "+limit.caution, a.streams.width()))
	return err
}

func healthRange(f *figures, p *logbook.Pack, r *report.Health, limit string) {
	f.head("How far from full to " + limit + " under load")
	f.estimate("on average", r.RangeKm, units.Km, "range_unknown", "no_road_rides", "capacity_unknown")
	f.estimate("the next range test", r.NextTestKm, units.Km, "range_unknown", "no_road_rides", "capacity_unknown")
	if p.NeedRangeKm.OK {
		remark, alarm := met(p.NeedRangeKm.V, r.RangeKm)
		f.given("needed", p.NeedRangeKm.V, units.Km, remark, alarm)
	}
	f.estimate("consumption", r.ConsumptionWhPerKm, units.WhPerKm, "range_unknown", "no_road_rides", "capacity_unknown")
}

// limitWords name the limit down to which a range is counted, and say not to
// ride on below it. A limit that the pack does not state is not to be ridden
// to: it is said to be assumed.
type limitWords struct {
	name, caution string
	stated        bool
}

func limitOf(q *question, fit *model.Fit) limitWords {
	volts := units.Format(fit.Reference().LimitV, units.Volt, q.who.System)
	if q.history.Pack.LimitV.OK {
		return limitWords{volts, "Never ride on below " + volts + " under load.", true}
	}
	caution := "The pack's low-voltage limit is not in the log: find it with its maker, set it with `packwane amend " +
		q.history.Pack.ID + " limit=...`, and never ride on below it."
	return limitWords{"an assumed " + volts, caution, false}
}

// met says whether a need of km is met.
func met(need float64, e *report.Estimate) (remark string, alarm bool) {
	switch {
	case e == nil:
		return "", false
	case e.High != nil && *e.High < need:
		return "not met", true
	case e.Low != nil && *e.Low >= need:
		return "met", false
	}
	return "in doubt", false
}

func healthPack(f *figures, r *report.Health) {
	f.head("The pack")
	f.estimate("capacity", r.CapacityAh, units.Ah, "capacity_unknown", "limit_assumed", "chemistry_assumed", "series_unknown", "rating_unknown")
	if r.CapacityWh != nil {
		f.estimate("", r.CapacityWh, units.Wh).piped = "capacity in energy"
	}
	f.estimate("state of health", r.SohPct, units.Pct, "capacity_unknown", "as_new_from_rating", "first_year")
	f.estimate("resistance", r.ResistanceMohm, units.Mohm, "resistance_unknown")
	f.estimate("  more than as new", r.ResistanceGrowthPct, units.Pct, "resistance_growth_unknown", "resistance_unknown").piped = "resistance over as new"
	f.estimate("round trip", r.RoundTripPct, units.Pct, "round_trip_unknown", "capacity_unknown")
	inUnit(f.estimate("self-discharge", r.SelfDischargePctMonth, units.Pct, "self_discharge_unknown"), "% a month")
}

func healthLife(f *figures, r *report.Health) {
	f.head("Its life")
	inUnit(f.estimate("full cycles so far", r.EquivalentFullCycles, units.Count), "cycles")
	f.estimate("charge taken out", r.CapacityThroughputAh, units.Ah)
	inUnit(f.estimate("energy taken out", r.EnergyThroughputKwh, units.Count), "kWh")
	if r.Fade != nil {
		f.estimate("lost by cycling", r.Fade.CycleLossPct, units.Pct)
		f.estimate("lost by time", r.Fade.CalendarLossPct, units.Pct)
	}
	if e := r.EndOfLife; e != nil {
		label := "retire, at " + units.Format(e.SohPct, units.Pct, f.system)
		date := f.date(label, e.Date, "end_of_life_not_in_sight", "end_of_life_may_not_come")
		if e.EquivalentFullCycles == nil {
			date.value = "not in sight"
			return
		}
		cycles := inUnit(f.estimate("", e.EquivalentFullCycles, units.Count), "cycles")
		cycles.piped = label + ", in cycles"
	}
}

// inUnit gives a row a unit that no record field has.
func inUnit(l *figureLine, symbol string) *figureLine {
	if l.value != unknown {
		l.symbol = symbol
	}
	return l
}

// packWords says what a pack is and what the log holds of it.
func packWords(h *logbook.History) string {
	p := h.Pack
	parts := []string{p.ID}
	if p.Chemistry != "" {
		parts = append(parts, p.Chemistry)
	}
	if p.Series.OK && p.Parallel.OK {
		parts = append(parts, fmt.Sprintf("%ss %sp", logbook.FormatNumber(p.Series.V), logbook.FormatNumber(p.Parallel.V)))
	}
	parts = append(parts, kindCounts(map[logbook.Kind]int{
		logbook.KindRide: len(h.Rides), logbook.KindCharge: len(h.Charges), logbook.KindCheck: len(h.Checks),
	}))
	if parts[len(parts)-1] == "" {
		parts[len(parts)-1] = "nothing logged yet"
	}
	return strings.Join(parts, ", ")
}
