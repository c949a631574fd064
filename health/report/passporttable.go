package report

import (
	"math"
	"strconv"

	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

// passport lists the parameters that Regulation (EU) 2023/1542, Annex VII,
// names for the battery of a light means of transport: part A for the state of
// health, part B for the expected lifetime.
func (w writer) passport(head string, k Known, health *Health) Part {
	h := k.History
	p := Part{
		Title: head + "parameters by Regulation (EU) 2023/1542, Annex VII", Heads: []string{"parameter", "value", "90 %"},
		Words: []string{"As far as a rider's log tells them. What the log does not hold is said to be so; it is not a certificate of the maker."},
	}
	event := k.events()
	p.Rows = [][]string{
		w.row("remaining capacity", health.CapacityAh, units.Ah, ""), w.row("capacity over as new", health.SohPct, units.Pct, ""),
		{"remaining power capability", "not measured by this log", ""},
		w.row("round trip efficiency", health.RoundTripPct, units.Pct, ""), w.row("self-discharge, a month", health.SelfDischargePctMonth, units.Pct, ""),
		w.row("ohmic resistance", health.ResistanceMohm, units.Mohm, ""), w.row("resistance over as new", health.ResistanceGrowthPct, units.Pct, ""),
		{"date of manufacture", "not in the log", ""},
		{"put into service", dateOr(h), ""},
		w.row("energy throughput", health.EnergyThroughputKwh, units.Count, "kWh"), w.row("capacity throughput", health.CapacityThroughputAh, units.Ah, ""),
		w.row("full equivalent cycles", health.EquivalentFullCycles, units.Count, ""),
		{"deep discharges: protection opened, or below the limit", strconv.Itoa(event.deep), ""},
		{"hours ridden " + w.extremes(), hours(event.extremeRide), ""},
		{"hours charged " + w.extremes(), hours(event.extremeCharge), ""},
		{"knocks, water, warning signs", strconv.Itoa(event.harm), ""},
	}
	for _, s := range h.Services {
		if s.Pack == h.Pack.ID && s.What != "snooze" {
			p.Words = append(p.Words, h.Day(s.At)+" "+prose.Spaced(s.What)+passed(s)+noteOf(s.Note))
		}
	}
	return p
}

func passed(s *logbook.Service) string {
	switch s.Passed {
	case logbook.Yes:
		return ", passed"
	case logbook.No:
		return ", not passed"
	}
	return ""
}

func noteOf(note string) string {
	if note == "" {
		return "."
	}
	return ": " + note + "."
}

func dateOr(h *logbook.History) string {
	at := h.Pack.InService
	if r := replacedAt(h); !r.IsZero() {
		return h.Day(r) + " (cells replaced)"
	}
	if at.IsZero() {
		return "not in the log"
	}
	return at.Format(logbook.DateLayout)
}

// Outside these a pack is in extreme temperatures (common practice, no source).
const (
	coldC = 0
	hotC  = 45
)

func (w writer) extremes() string {
	return "below " + units.Format(coldC, units.Celsius, w.sys) + " or above " + units.Format(hotC, units.Celsius, w.sys)
}

func hours(h float64) string { return strconv.FormatFloat(math.Round(h*10)/10, 'f', -1, 64) }

// harmful counts what wears a pack beyond use, of its present life.
type harmful struct {
	deep, harm                 int
	extremeRide, extremeCharge float64 // hours
}

func (k Known) events() harmful {
	var e harmful
	h := k.History
	born := replacedAt(h)
	extreme := func(pack, air logbook.Num) bool {
		t := pack
		if !t.OK {
			t = air
		}
		return t.OK && (t.V < coldC || t.V > hotC)
	}
	for _, r := range h.Rides {
		if r.At.Before(born) {
			continue
		}
		if r.Stop == "cutoff" || belowLimit(h, r) {
			e.deep++
		}
		if extreme(r.PackC, r.AmbientC) {
			e.extremeRide += logbook.EndOf(r).Sub(r.At).Hours()
		}
	}
	for _, c := range h.Charges {
		if !c.At.Before(born) && !c.Start.IsZero() && extreme(c.PackC, c.AmbientC) {
			e.extremeCharge += c.At.Sub(c.Start).Hours()
		}
	}
	for _, s := range h.Services {
		if s.Pack == h.Pack.ID && !s.At.Before(born) && (s.What == "impact" || s.What == "water" || s.What == "warning_sign") {
			e.harm++
		}
	}
	return e
}

// belowLimit reports whether a ride went clearly below the limit that held then. One that
// nobody stated, nobody could keep to.
func belowLimit(h *logbook.History, r *logbook.Ride) bool {
	limit := h.PackAt(r.At).LimitV
	return limit.OK && r.MinV.OK && r.MinV.V < limit.V-DipV
}

// documentTests is how many tests a document lists, the latest.
const documentTests = 40

// tests lists the range tests as they were logged and as they were corrected.
func (w writer) tests(head string, k Known) Part {
	p := Part{Title: head + "the tests, as logged and as corrected", Heads: []string{"date", "way", "air", "speed", "wind", "tyre", "rider", "discharged", "at reference", "corrected by"}}
	all := k.Fit.Tests()
	corrected, doubted := 0.0, 0
	var list [][]string
	for _, t := range all {
		r, ok := t.Record.(*logbook.Ride)
		if !ok || !r.DistanceKm.OK {
			continue
		}
		wind := w.num(r.WindKmh, units.Kmh)
		if r.HeadwindKmh.OK {
			wind = w.num(r.HeadwindKmh, units.Kmh) + " against"
		}
		row := []string{k.History.Day(r.At), w.num(r.DistanceKm, units.Km), w.num(r.AmbientC, units.Celsius), w.num(r.MovingSpeedKmh, units.Kmh), wind, w.num(r.TyreKpa, units.Kpa), w.num(r.RiderKg, units.Kg), w.num(r.DischargedWh, units.Wh), "", ""}
		switch v := t.RangeKm; {
		case t.Doubted:
			doubted++
			row[9] = "put aside: does not fit the rest"
		case v > 0 && !math.IsInf(v, 0):
			row[8] = kilometres(v).in(w.sys)
			by := v - r.DistanceKm.V
			sign := "+"
			if by < 0 {
				sign = "−"
			}
			row[9] = sign + kilometres(math.Abs(by)).in(w.sys)
			corrected += math.Abs(v-r.DistanceKm.V) / r.DistanceKm.V
		}
		list = append(list, row)
	}
	if len(list) == 0 {
		p.Words, p.Heads = []string{"No ride from full to the limit with its distance is logged yet."}, nil
		return p
	}
	n := len(list)
	p.Rows = list[max(0, n-documentTests):]
	if n > doubted {
		p.Words = append(p.Words, prose.Plural(n, "ride")+" from full to the limit. Bringing them to the conditions above moved one by "+strconv.Itoa(int(math.Round(100*corrected/float64(n-doubted))))+" % on average.")
	}
	if n > documentTests {
		p.Words = append(p.Words, "The latest "+strconv.Itoa(documentTests)+" are listed.")
	}
	if doubted > 0 {
		verbs := map[bool]string{true: " does not fit the rest of the log and was put aside.", false: " do not fit the rest of the log and were put aside."}
		p.Words = append(p.Words, strconv.Itoa(doubted)+verbs[doubted == 1])
	}
	return p
}
