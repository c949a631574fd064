package report

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"packwane/health/law"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Reach is the answer to "how far from here?".
type Reach struct {
	Pack          string          `json:"pack"`
	AsOf          string          `json:"as_of"`
	Conditions    ReachConditions `json:"conditions"`
	LevelPct      *Estimate       `json:"level_pct"` // of a full charge down to the limit
	RemainingWh   *Estimate       `json:"remaining_wh"`
	RemainingKm   *Estimate       `json:"remaining_km"` // on average in these conditions
	ThisRideKm    *Estimate       `json:"this_ride_km"` // what one ride would show: wider
	OutKm         float64         `json:"out_km"`       // from home already
	RiskPct       float64         `json:"risk_pct"`
	TurnBackKm    *float64        `json:"turn_back_km"` // how much farther out
	TurnBackV     *float64        `json:"turn_back_v"`  // at rest, as it reads after rested_min; null where nothing is left
	HomePct       *float64        `json:"home_pct"`     // how likely home is reached above the limit if one turns now
	DayPct        *Estimate       `json:"day_pct"`      // how much more a kilometre takes today than expected
	BelowLimitPct float64         `json:"below_limit_pct"`
	LimitV        float64         `json:"limit_v"`
	Table         []TapeRow       `json:"table"`
	Cautions      []string        `json:"cautions"`
	Warnings      []Warning       `json:"warnings"`

	impossible bool // the volts are none at which a sound pack rests
	empty      bool // nothing is left above the limit
	barred     bool // the pack must not be ridden: people are told no distance to ride
}

// ReachConditions are what the answer holds for.
type ReachConditions struct {
	Board       *string  `json:"board"` // null where the pack has none
	TempC       float64  `json:"temp_c"`
	TempAssumed bool     `json:"temp_assumed"`
	SpeedKmh    float64  `json:"speed_kmh"`
	RiderKg     float64  `json:"rider_kg"`
	TyreKpa     *float64 `json:"tyre_kpa"` // null: the board's own
	HeadwindKmh float64  `json:"headwind_kmh"`
	ClimbM      float64  `json:"climb_m"`
	RestedMin   *float64 `json:"rested_min"`
}

// TapeRow is one line of the tape on the board.
type TapeRow struct {
	RestV       float64   `json:"rest_v"`
	RemainingKm *Estimate `json:"remaining_km"`
}

// BelowLimit says why the energy below the limit is never counted.
const BelowLimit = "Energy below the limit is never counted: only a few percent lie there, the volts fall ever faster, and the protection opens without warning, which can take drive and brake away at once."

// ReachOf works out what is left from where the rider stands. Without volts
// and used energy only the table is filled in.
func ReachOf(h *logbook.History, fit *model.Fit, s model.Standing) *Reach {
	known, ref := fit.Known(), fit.Reference()
	out := &Reach{
		Pack: h.Pack.ID, AsOf: logbook.FormatTime(h.AsOf), OutKm: s.OutKm.Or(0), RiskPct: tidy(100 * s.Risk), LimitV: tidy(ref.LimitV), Table: []TapeRow{}, Cautions: []string{}, Warnings: []Warning{},
		Conditions: ReachConditions{SpeedKmh: tidy(s.Way.SpeedKmh.Or(ref.SpeedKmh)), RiderKg: tidy(s.Way.RiderKg.Or(fit.ReferenceRiderKg())), HeadwindKmh: s.Way.HeadwindKmh.Or(0), ClimbM: s.ClimbM},
	}
	if board := cmp.Or(s.Way.Board, h.Pack.Board); board != "" {
		out.Conditions.Board = &board
	}
	if s.Way.TyreKpa.OK {
		out.Conditions.TyreKpa = &s.Way.TyreKpa.V
	}
	if s.RestedMin.OK {
		out.Conditions.RestedMin = &s.RestedMin.V
	}
	asked := s.RestV.OK || s.UsedAh.OK || s.UsedWh.OK
	if asked {
		r := fit.Reach(s)
		out.fill(r, s, known)
		now := fit.At(h.AsOf)
		out.warn(h, r, s, known, &now)
	}
	k := Known{h, fit}
	bars := barred(k)
	out.barred = len(bars) > 0
	out.Warnings = append(bars, out.Warnings...) // before all else
	out.Warnings = append(out.Warnings, untold(k)...)
	out.Warnings = append(out.Warnings, extrapolatedSpeed(k, out.Conditions.SpeedKmh)...)
	out.Warnings = append(out.Warnings, unknownPressure(k, s.Way)...)
	out.Warnings = append(out.Warnings, unridden(k, s.Way)...)
	out.caution(LimitOf(h, fit))
	return out
}

func (out *Reach) fill(r *model.Reach, s model.Standing, known model.Known) {
	out.Conditions.TempC, out.Conditions.TempAssumed = tidy(r.AirC), r.AirAssumed
	out.BelowLimitPct = tidy(r.BelowPct)
	out.LevelPct = when(known.Capacity, r.LevelPct)
	out.RemainingWh = when(known.Capacity, r.RemainingWh)
	if !known.Capacity || !known.Road {
		return
	}
	out.RemainingKm, out.ThisRideKm = estimate(r.RemainingKm), estimate(r.ThisRideKm)
	out.TurnBackKm, out.HomePct = bound(r.TurnBackKm), bound(100*r.HomeShare)
	out.TurnBackV = bound(r.TurnBackV)
	if r.DayPct != nil {
		out.DayPct = estimate(r.DayPct)
	}
	if s.OutKm.Or(0) == 0 {
		out.HomePct = nil
	}
}

func (out *Reach) warn(h *logbook.History, r *model.Reach, s model.Standing, known model.Known, now *model.Snapshot) {
	add := func(is bool, code, format string, args ...any) {
		if is {
			out.Warnings = append(out.Warnings, Warning{Code: code, Text: fmt.Sprintf(format, args...)})
		}
	}
	add(s.RestV.OK && !h.Pack.Series.OK, "series_unknown", "the pack has no series count: its voltage tells nothing")
	add(r.RestAssumed, "rest_assumed", "how long the pack rested was not said (rested_min): the volts are taken as fully rested, which errs to the safe side")
	if r.AirAssumed {
		out.Warnings = append(out.Warnings, warning("temperature_assumed", say("no temperature was given: the usual ", degrees(r.AirC), " of the season is taken; most days lie between ", degrees(r.AirC-1.6*r.AirSd), " and ", degrees(r.AirC+1.6*r.AirSd))))
	}
	add(r.Apart != nil, "readings_disagree", "what was read does not go together%s: the reading that leaves least is taken; check each, and whether the pack was full at the start", apart(r.Apart, known.Capacity))
	p := h.PackAt(h.AsOf)
	chem, _ := law.ChemistryNamed(p.Chemistry)
	over := s.RestV.V > p.Series.V*(max(h.Pack.CellFullV.Or(0), chem.FullV)+aboveFull)
	out.impossible = r.BeyondFull && over
	add(r.BeyondFull && !over, "above_full", "the voltage lies above that of a full pack: check it")
	add(r.BeyondFull && over, "above_full", "the voltage lies above that of a full pack: check it; a pack that is truly so high is overcharged: do not ride or charge it, keep away from it, and ask a trained person")
	if n := p.Series; s.RestV.OK && n.OK {
		under := s.RestV.V < p.CutoffV.Or(n.V*chem.CutoffV)
		out.impossible = out.impossible || under
		add(under, "below_cutoff", "%.3g V a cell at rest is lower than protection lets cells go: check it; a pack that is truly so low must not be ridden or charged before a trained person has looked at it", s.RestV.V/n.V)
	}
	add(known.Capacity && (moreThanFull(s.UsedAh, now.CapacityAh) || moreThanFull(s.UsedWh, now.CapacityWh)), "used_more_than_full", "that is more than a full cycle of this pack gives: check it, and whether it was charged meanwhile")
	add(r.Helped && out.TurnBackKm != nil, "easy_way_out", "the way out took less than usual: where wind or slope helped, they are against you on the way home, which is reckoned so much harder; say headwind_kmh where you know it")
	add(r.BelowLimit && (known.Capacity || h.Pack.Series.OK), "nothing_left", "nothing is left above the limit: stop riding")
	out.empty = r.BelowLimit
	away := out.turnsNow(units.Metric) && out.OutKm > 0
	add(away && !r.BelowLimit, "turn_now", "home is not reached above the limit with the chosen certainty: turn back now, ride slowly, and be ready to walk or be fetched")
	add(away && r.BelowLimit, "walk_home", "home is not reached on what is left: switch off, and walk or be fetched")
	add(s.RestV.OK && !s.UsedAh.OK && !s.UsedWh.OK && wide(out.LevelPct), "voltage_tells_little", "one voltage tells little here: the curve is flat, so the interval is wide; say what was used since full (used_ah or used_wh)")
}

// aboveFull is what a voltmeter may be off, of one cell (from memory); more is no reading
// of a cell that was charged as its kind may be.
const aboveFull = .05

// moreThanFull reports whether more was used than a full cycle can be thought to give, in
// warmth too.
func moreThanFull(used logbook.Num, full model.Draws) bool {
	return used.OK && used.V > 1.25*model.Quantile(full, .95)
}

// apart says what each reading would leave, where the log tells energies.
func apart(list []model.Apart, told bool) string {
	if !told {
		return ""
	}
	var each []string
	for _, a := range list {
		name := ""
		switch s := a.Reading; {
		case s.RestV.OK:
			name = fmt.Sprintf("%.4g V at rest", s.RestV.V)
		case s.UsedAh.OK:
			name = fmt.Sprintf("%.4g Ah used", s.UsedAh.V)
		default:
			name = fmt.Sprintf("%.4g Wh used", s.UsedWh.V)
		}
		each = append(each, fmt.Sprintf("%s would leave %.0f Wh", name, a.LeftWh))
	}
	return " (" + strings.Join(each, ", ") + ")"
}

// wide reports whether a charge level is known to no better than 12 points
// either way.
func wide(e *Estimate) bool {
	return e != nil && e.Low != nil && e.High != nil && *e.High-*e.Low > 24
}

func extrapolatedSpeed(k Known, kmh float64) []Warning {
	var out []Warning
	for _, w := range extrapolated(k, CompareConditions{SpeedKmh: kmh, TempC: math.NaN()}) {
		if w.Code == "speed_extrapolated" {
			out = append(out, w)
		}
	}
	return out
}

// caution fills in what is said wherever an answer leads to riding on.
func (out *Reach) caution(l Limit) {
	out.Cautions = append(out.Cautions,
		l.caution("Stop at"),
		BelowLimit)
	if out.barred || out.empty || out.TurnBackKm == nil || out.turnsNow(units.Metric) {
		return
	}
	out.Cautions = append(out.Cautions,
		"Turn at the distance or at the volts that are given, whichever comes first; wind, cold and company change what a distance takes.")
}
