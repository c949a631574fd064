package model

import (
	"math"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
)

type eventKind uint8

const (
	evRide eventKind = iota
	evCharge
	evCheck
)

// event is one record made ready for the passes: everything that does not
// depend on the parameters is worked out once.
type event struct {
	kind   eventKind
	record logbook.Record
	id     string

	startDay, endDay float64 // since the epoch, in days
	gapDays          float64 // since the event before ended
	years            float64 // in service, at the start
	age              float64 // in the nominal units that place the knots
	tired            float64 // recent full cycles beyond the usual
	cycles           float64 // nominal equivalent full cycles before it
	usualLoss        float64 // of cells of the chemistry at that age, share of the capacity
	knot             int     // the capacity lies between knots knot and knot+1
	knotW            float64 // weight of knot+1
	stepped          bool    // after the capacity changed at once

	feels parts // what parameters can move of it

	limitV, cutoffV, fullV float64 // per cell

	packC, airC float64 // °C; packC is NaN where only the air is known
	tempVar     float64 // variance of what was filled in, K²
	airSeen     bool    // the air was measured

	// A ride.
	km         float64  // NaN where there is no distance
	trip       law.Trip // filled in where km is a number
	tripVar    float64  // variance of ln Wh/km by what was filled in
	lever      float64  // how much more than on the level ln Wh/km answers to a change of the load
	hours      float64  // under way, NaN where unknown
	hoursByKm  bool     // worked out from the distance and the speed
	bench      bool
	nowhere    bool       // its distance is 0 and neither a meter nor volts say more
	share      float64    // of a full charge that it took, roughly
	large      bool       // it may be more than the pack holds
	course     law.Course // over that share
	stop       string
	minV       float64 // lowest volts of a cell under load, NaN where absent
	odometer   bool    // the board's can be held against its last reading, and no other board took the pack
	unloggedKm float64 // ridden beside the log since the last reading, by the odometer
	late       float64 // share of that time after the last charge that may have filled the pack
	lateDays   float64 // and how long that is
	unheld     bool    // the odometer was read, but tells nothing of what was ridden beside the log
	effects    []int   // groups that act on ln Wh/km
	roundKm    float64 // step of the distance, km

	// A charge.
	full     logbook.Flag
	holdMin  float64 // NaN where not recorded
	ac       bool
	balanced bool // a balancing service came since the event before

	// Both.
	startV, endV     float64 // per cell at rest, NaN where absent
	restMin          float64 // before endV, NaN where absent
	voltVar          float64 // of one reading by its step, V² per cell
	ah, wh           float64 // net, NaN where absent
	grossAh          float64
	ahRound, whRound float64 // steps of the figures
	meterVar         float64 // of ln of the meter's figure on the day
	meter            int     // group of the gain, -1 for the pack's own

	// A check.
	ohm      float64 // of the pack, NaN where absent
	ohmVar   float64 // of its logarithm
	soc      float64 // share, NaN where unknown
	acMethod bool
	method   int // group of the method, -1 for DC
}

const daySeconds = 86400

func dayOf(t time.Time) float64 {
	return float64(t.Unix())/daySeconds + float64(t.Nanosecond())/1e9/daySeconds
}

func timeOfDay(d float64) time.Time {
	return time.Unix(int64(math.Round(d*daySeconds)), 0).UTC()
}

func numOr(n logbook.Num) float64 {
	if n.OK {
		return n.V
	}
	return math.NaN()
}

func known(v float64) bool { return !math.IsNaN(v) }

// positive turns what a logarithm cannot take into an absent value.
func positive(v float64) float64 {
	if v > 0 {
		return v
	}
	return math.NaN()
}
