package model

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"packwane/health/logbook"
)

// AnyLog draws a logbook of one pack that may be good or bad, but that the
// logbook's own validation accepts: a pure function of the seed. The figures
// are invented.
func AnyLog(seed uint64) (records []logbook.Record, asOf time.Time) {
	g := newLogMaker(seed)
	g.makers()
	n := []int{0, 1, 2, 3, 5, 8, 13, 30, 60, 120}[g.IntN(10)]
	for range n {
		g.next()
	}
	g.Shuffle(len(g.records), func(i, j int) { g.records[i], g.records[j] = g.records[j], g.records[i] })
	if g.IntN(6) == 0 { // asked for a time within the log
		return g.records, g.first.Add(time.Duration(g.Float64() * float64(g.at.Sub(g.first)+1)))
	}
	return g.records, g.at.Add(time.Duration(g.IntN(3000)) * time.Hour)
}

// logMaker writes down one bad keeper's log.
type logMaker struct {
	*rand.Rand
	records   []logbook.Record
	first, at time.Time
	gapHours  float64
	odd       float64 // chance of a figure from anywhere in its field's range
	miss      float64 // chance of a field to be left out
	constant  bool    // every figure of a field is the same
	kept      map[string]float64
	kinds     []logbook.Kind
	ah, volts float64 // of the pack
}

const AnyPack = "any-pack"

func newLogMaker(seed uint64) *logMaker {
	g := &logMaker{Rand: rand.New(rand.NewPCG(seed, 0x616e79)), kept: map[string]float64{}}
	g.first = time.Date(1970+g.IntN(120), time.Month(1+g.IntN(12)), 1+g.IntN(28), g.IntN(24), 0, 0, 0, time.UTC)
	if g.IntN(3) > 0 {
		g.first = time.Date(2024, 3, 4, 8, 0, 0, 0, time.UTC)
	}
	g.at = g.first
	g.gapHours = []float64{0, .01, .2, 5, 30, 200, 3000}[g.IntN(7)]
	g.odd = []float64{0, 0, .02, .2, 1}[g.IntN(5)]
	g.miss = []float64{0, .1, .5, .9}[g.IntN(4)]
	g.constant = g.IntN(5) == 0
	all := []logbook.Kind{logbook.KindRide, logbook.KindCharge, logbook.KindCheck, logbook.KindService, logbook.KindSetup}
	switch g.IntN(6) {
	case 0:
		g.kinds = all[:1]
	case 1:
		g.kinds = all[1:2]
	case 2:
		g.kinds = all[2:3]
	default:
		g.kinds = []logbook.Kind{all[0], all[1], all[0], all[1], all[0], all[1], all[2], all[3], all[4]}
	}
	return g
}

// makers writes the pack and its board, either of which may say little.
func (g *logMaker) makers() {
	p := &logbook.Pack{Head: logbook.Head{ID: AnyPack, Rev: 1}}
	g.fill(p, map[string]float64{
		"series": float64(1 + g.IntN(30)), "parallel": float64(1 + g.IntN(20)), "cell_capacity_ah": 1 + 4*g.Float64(), "cell_nominal_v": 3.5, "cell_full_v": 4.2,
		"cycles_before": 200 * g.Float64(), "asnew_ah": 20, "retire_soh_pct": 70, "need_range_km": 20, "ref_temp_c": 25, "ref_speed_kmh": 25, "ref_rider_kg": 80,
	})
	cells := p.Series.Or(1)
	if g.IntN(3) > 0 {
		p.LimitV, p.CutoffV = logbook.Some(3*cells), logbook.Some(2.6*cells)
	}
	if g.IntN(3) > 0 {
		p.InService = g.first.AddDate(-g.IntN(4), g.IntN(6), 0).Truncate(24 * time.Hour)
	}
	if logbook.Validate(p) != nil {
		p.LimitV, p.CutoffV, p.CellNominalV, p.CellFullV, p.InService = logbook.Num{}, logbook.Num{}, logbook.Num{}, logbook.Num{}, time.Time{}
	}
	if p.AsnewAh.OK && g.odd < 1 {
		p.AsnewAh = logbook.Some(min(p.CellCapacityAh.Or(3)*p.Parallel.Or(1), 10_000))
	}
	g.ah, g.volts = p.CellCapacityAh.Or(3)*p.Parallel.Or(1), 3.6*cells
	g.keep(p)
	if g.IntN(4) > 0 {
		b := &logbook.Board{Head: logbook.Head{ID: "any-board", Rev: 1}}
		g.fill(b, map[string]float64{"mass_kg": 14, "ref_tyre_kpa": 300, "service_every_km": 500, "service_every_days": 180})
		p.Board = b.ID
		g.keep(b)
	}
}

// next writes one record at the time now, or a little before it, or at the
// same time as the last.
func (g *logMaker) next() {
	g.at = g.at.Add(time.Duration(g.gapHours * 2 * g.Float64() * float64(time.Hour)))
	if g.at.Year() > 2190 {
		return
	}
	at := g.at
	r := logbook.New(g.kinds[g.IntN(len(g.kinds))])
	logbook.HeadOf(r).ID = fmt.Sprintf("any-%04d", len(g.records))
	share := g.Float64()
	ah := max(.01, share*g.ah*.9)
	km := ah * g.volts / 14
	hours := km / 22
	typical := map[string]float64{
		"distance_km": km, "odometer_km": 50 * float64(len(g.records)), "moving_speed_kmh": 18 + 10*g.Float64(), "moving_min": 60 * hours, "speed_sd_kmh": 3,
		"start_rest_v": g.volts * 1.15, "end_rest_v": g.volts * (1.15 - .25*share), "end_rest_min": 20, "min_v": g.volts * .85, "peak_a": 40,
		"discharged_ah": ah, "discharged_wh": ah * g.volts, "regen_ah": ah * .04, "regen_wh": ah * g.volts * .04, "error_pct": 1, "ambient_c": 25 * g.Float64(), "pack_c": 20,
		"tyre_kpa": 290, "rider_kg": 80, "headwind_kmh": 5 * g.NormFloat64(), "wind_kmh": 10, "wind_from_deg": 200, "climb_m": 5 * km, "descent_m": 5 * km,
		"charged_ah": ah, "charged_wh": ah * g.volts * 1.05, "hold_min": 60 * g.Float64(), "cell_spread_mv": 8,
		"resistance_mohm": 80, "rest_v": g.volts, "load_v": g.volts * .97, "load_a": 10, "base_a": 0, "pulse_s": 10, "soc_pct": 50, "group_v": 3.7,
		"limit_v": g.volts * .8, "cutoff_v": g.volts * .7, "cell_full_v": 4.15, "mass_kg": 15, "ref_tyre_kpa": 310,
	}
	g.fill(r, typical)
	switch r := r.(type) {
	case *logbook.Ride:
		r.Pack, r.At = AnyPack, at
		if g.IntN(2) == 0 {
			r.End = at.Add(time.Duration(hours * 1.1 * float64(time.Hour)))
		}
		r.Board = g.pick("", "", "any-board", "no-board")
		g.at = logbook.EndOf(r)
		if g.at.Before(at) || g.at.Sub(at) > 300*time.Hour {
			g.at = at
		}
	case *logbook.Charge:
		r.Pack, r.At = AnyPack, at
		if g.IntN(2) == 0 {
			r.Start = at.Add(-time.Duration(g.Float64() * 5 * float64(time.Hour)))
		}
		if r.MeterSide == "ac" {
			r.ChargedAh = logbook.Num{}
		}
	case *logbook.Check:
		r.Pack, r.At = AnyPack, at
	case *logbook.Service:
		r.At = at
		r.Pack, r.Board = g.owner()
		r.Until = time.Time{}
	case *logbook.Setup:
		r.At = at
		r.Pack, r.Board = g.owner()
	}
	g.keep(r)
}

func (g *logMaker) owner() (pack, board string) {
	if g.IntN(3) == 0 {
		return "", "any-board"
	}
	return AnyPack, ""
}

func (g *logMaker) pick(from ...string) string { return from[g.IntN(len(from))] }

// fill sets the fields of r that hold numbers, truths or one of several
// texts: most to what is typical, some to anything that their range allows.
func (g *logMaker) fill(r logbook.Record, typical map[string]float64) {
	for _, f := range logbook.Fields(r.Kind()) {
		if f.Name == "rev" || f.Name == "removed" || g.Float64() < g.miss && !f.Required {
			continue
		}
		var text string
		switch {
		case f.Enum != nil:
			text = g.pick(f.Enum...)
		case f.Type == logbook.TypeFlag:
			text = g.pick("true", "true", "false")
		case f.Name == "meter" || f.Name == "rider" || f.Name == "route" || f.Name == "session" || f.Name == "ref_route":
			text = g.pick("a", "b", "pack", "c d", fmt.Sprint(g.IntN(200)))
		case f.Type == logbook.TypeNumber:
			text = logbook.FormatNumber(g.number(r.Kind(), f, typical))
		case f.Type == logbook.TypeNumbers:
			text = "3.70 3.71 " + logbook.FormatNumber(g.number(r.Kind(), f, typical))
		default:
			continue
		}
		if err := f.SetText(r, text); err != nil {
			panic(fmt.Sprintf("%s: %v", text, err)) // the maker's own fault
		}
	}
}

func (g *logMaker) number(k logbook.Kind, f logbook.Field, typical map[string]float64) float64 {
	key := k.String() + f.Name
	if v, ok := g.kept[key]; ok && g.constant {
		return v
	}
	v, ok := typical[f.Name]
	if !ok || g.Float64() < g.odd {
		v = g.anywhere(f)
	} else {
		v = math.Round(v*100) / 100
	}
	v = min(max(v, f.Min), f.Max)
	if f.Whole {
		v = math.Round(v)
	}
	if f.Above && v <= f.Min {
		v = f.Min + (f.Max-f.Min)*1e-9
	}
	g.kept[key] = v
	return v
}

// anywhere draws from the whole range of a field, with its ends and with
// values of all magnitudes.
func (g *logMaker) anywhere(f logbook.Field) float64 {
	switch g.IntN(5) {
	case 0:
		return f.Min
	case 1:
		return f.Max
	case 2:
		return f.Min + (f.Max-f.Min)*g.Float64()
	}
	return f.Min + (f.Max-f.Min)*math.Exp(-25*g.Float64())
}

// keep adds r to the log where the logbook accepts it.
func (g *logMaker) keep(r logbook.Record) {
	if logbook.Validate(r) == nil {
		g.records = append(g.records, r)
	} else if _, isPack := r.(*logbook.Pack); isPack {
		panic("the pack is not valid: " + logbook.Validate(r).Error())
	}
}
