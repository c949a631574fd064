package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// Losses is what the pack does not give back: between charger and road, and at
// rest, in the life of its present cells. A list is empty and an estimate nil
// where the log does not tell.
type Losses struct {
	From         time.Time  `json:"from"` // the first record of this life
	RoundTrips   []Measured `json:"round_trips"`
	RoundTripPct *Estimate  `json:"round_trip_pct"` // of a full cycle now, as in the report of health
	Rests        []RestLoss `json:"rests"`
	RestPctMonth *Estimate  `json:"self_discharge_pct_month"` // now, as in the report of health
}

// RestLoss is what rest volts show of one rest, percent of the capacity a
// month, at its end. Low and High are the bounds that the last digits of the
// volts leave.
type RestLoss struct {
	Measured
	Before string  `json:"before"` // the record after which the rest began
	Days   float64 `json:"days"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}

// leastRestDays is how long a rest lasts at least to be shown; volts read
// sooner than settledMin after a load or a charge are not at rest. Common
// practice, no source.
const (
	leastRestDays = 3
	settledMin    = 60
)

// LossesOf reads the losses of a pack off its history and a fit of it.
func LossesOf(h *logbook.History, fit *model.Fit) *Losses {
	known := fit.Known()
	aside := putAside(fit)
	return &Losses{
		From: firstOf(h), RoundTrips: roundTrips(h, aside), Rests: restLosses(h, fit.LevelAtRest, aside, fit.Unlogged()),
		RoundTripPct: when(known.DirectCharge && known.Capacity, fit.RoundTripPct()),
		RestPctMonth: when(known.SelfDischarge, fit.SelfDischargePctMonth()),
	}
}

// leastTripPct is the round trip below which rides are missing from the log
// rather than energy from the pack: common practice, no source. Above 100 % a
// store would give more than it took.
const leastTripPct = 75

// turnover is the energy since the last full charge.
type turnover struct {
	outWh, inWh float64
	rides       int
	unknown     bool // some of it was not metered, or at the wall
	doubted     bool
}

// roundTrips holds the energy that rides took since a full charge against what
// charges put back until the next, percent, at the time of that one.
func roundTrips(h *logbook.History, aside doubted) []Measured {
	out := []Measured{}
	since := turnover{unknown: true} // before the first full charge
	for _, r := range inOrder(h) {
		id := logbook.HeadOf(r).ID
		switch r := r.(type) {
		case *logbook.Ride:
			since.rides++
			since.outWh += netWh(r)
			since.unknown = since.unknown || !r.DischargedWh.OK || r.RegenAh.OK && !r.RegenWh.OK
			since.doubted = since.doubted || aside.of(r, "discharged_wh")
		case *logbook.Charge:
			since.inWh += r.ChargedWh.Or(0)
			since.unknown = since.unknown || !r.ChargedWh.OK || r.MeterSide == "ac"
			since.doubted = since.doubted || aside.of(r, "charged_wh")
			if r.Full != logbook.Yes {
				continue
			}
			if pct := 100 * since.outWh / since.inWh; !since.unknown && since.rides > 0 && pct > 0 && !math.IsInf(pct, 0) {
				out = append(out, Measured{id, r.At, tidy(pct), since.doubted || pct > 100 || pct < leastTripPct})
			}
			since = turnover{}
		}
	}
	return out
}

// stand is a record with the pack's volts at rest before and after it.
type stand struct {
	record         logbook.Record
	begin, end     time.Time
	startV, endV   logbook.Num
	startAt, endAt string // the fields that hold them
}

func standOf(r logbook.Record) stand {
	s := stand{record: r, begin: logbook.AtOf(r), end: logbook.EndOf(r), startAt: "start_rest_v", endAt: "end_rest_v"}
	restMin := logbook.Num{}
	switch r := r.(type) {
	case *logbook.Ride:
		s.startV, s.endV, restMin = r.StartRestV, r.EndRestV, r.EndRestMin
	case *logbook.Charge:
		s.begin, s.startV, s.endV, restMin = startOf(r), r.StartRestV, r.EndRestV, r.EndRestMin
	case *logbook.Check:
		s.startV, s.endV, s.startAt, s.endAt = r.RestV, r.RestV, "rest_v", "rest_v"
	}
	if restMin.OK && restMin.V < settledMin {
		s.endV = logbook.Num{}
	}
	return s
}

// restLosses compares the charge that the volts tell at both ends of each rest. One
// that ends at a record before which something was not logged is doubted: it may
// be a ride's.
func restLosses(h *logbook.History, levelAt func(packV float64) (float64, bool), aside doubted, unlogged []logbook.Record) []RestLoss {
	out := []RestLoss{}
	var a stand
	for _, r := range inOrder(h) {
		b := standOf(r)
		if _, check := r.(*logbook.Check); check && !b.startV.OK {
			continue
		}
		days := b.begin.Sub(a.end).Hours() / 24
		if a.endV.OK && b.startV.OK && days >= leastRestDays && !balancedBetween(h, a.end, b.begin) {
			l := RestLoss{Measured: Measured{Record: logbook.HeadOf(r).ID, At: b.begin}, Before: logbook.HeadOf(a.record).ID, Days: tidy(days)}
			l.Doubted = aside.of(a.record, a.endAt) || aside.of(r, b.startAt) || slices.Contains(unlogged, r)
			if l.read(a.endV.V, b.startV.V, days, levelAt) {
				out = append(out, l)
			}
		}
		a = b
	}
	return out
}

// read fills in the loss from the volts at both ends.
func (l *RestLoss) read(fromV, toV, days float64, levelAt func(float64) (float64, bool)) bool {
	half := min(lastDigit(fromV), lastDigit(toV)) / 2
	tells := true
	lost := func(fromV, toV float64) float64 {
		from, ok := levelAt(fromV)
		to, too := levelAt(toV)
		tells = tells && ok && too
		return tidy(100 * (from - to) * monthDays / days)
	}
	l.Value, l.Low, l.High = lost(fromV, toV), lost(fromV-half, toV+half), lost(fromV+half, toV-half)
	return tells
}

// lastDigit is the worth of the last digit that a figure is given to: .1 for
// 40.2.
func lastDigit(v float64) float64 {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if i := slices.Index([]byte(s), '.'); i >= 0 {
		return math.Pow10(i + 1 - len(s))
	}
	return 1
}

// balancedBetween reports whether a balancing of the pack was logged between two
// times.
func balancedBetween(h *logbook.History, a, b time.Time) bool {
	return slices.ContainsFunc(h.Services, func(s *logbook.Service) bool {
		return s.Pack == h.Pack.ID && s.What == "balance" && !s.At.Before(a) && s.At.Before(b)
	})
}

// inOrder lists the rides, charges and checks of this life by their ends.
func inOrder(h *logbook.History) []logbook.Record {
	var out []logbook.Record
	eachOf(h, func(r logbook.Record) { out = append(out, r) })
	slices.SortStableFunc(out, func(a, b logbook.Record) int {
		return cmp.Or(logbook.EndOf(a).Compare(logbook.EndOf(b)), logbook.Compare(a, b))
	})
	return out
}
