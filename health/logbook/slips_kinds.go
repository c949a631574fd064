package logbook

import (
	"math"
	"slices"
	"time"
)

func (c *slipCase) charge(r *Charge) {
	c.retired(r.At)
	c.volts("start_rest_v", r.StartRestV, slipRestCellV)
	c.volts("end_rest_v", r.EndRestV, slipRestCellV)
	if r.StartRestV.OK && r.EndRestV.OK && r.StartRestV.V > r.EndRestV.V*slipVoltShare {
		c.add("end_rest_v", "voltage_falls", r.EndRestV, r.StartRestV, Num{}, "is below the volts before the charge")
	}
	c.above("charged_ah", "more_than_the_pack", r.ChargedAh, c.packAh().scaled(slipAhShare), "is more than this pack holds")
	share := slipWhShare
	if r.MeterSide == "ac" {
		share = slipWallShare
	}
	c.above("charged_wh", "more_than_the_pack", r.ChargedWh, c.packWh().scaled(share), "is more than this pack holds")
	c.temperatures(r.AmbientC, r.PackC, slipRestPackC)
	if !r.Start.IsZero() {
		if r.At.Sub(r.Start) > slipChargeHours*time.Hour {
			c.add("start", "very_long", Num{}, Num{}, Num{}, "makes a charge of more than %d hours: want its true start, or leave it out", slipChargeHours)
		}
		c.overlap("start", r.Start, r.At)
		return
	}
	c.overlap("at", r.At, r.At)
}

func (c *slipCase) ride(r *Ride) {
	c.retired(r.At)
	c.volts("start_rest_v", r.StartRestV, slipRestCellV)
	c.volts("end_rest_v", r.EndRestV, slipRestCellV)
	c.volts("min_v", r.MinV, slipLoadCellV)
	if start := r.StartRestV; start.OK {
		top := start.scaled(slipVoltShare)
		c.above("min_v", "voltage_rises", r.MinV, top, "is above the volts at rest before the ride")
		if !r.RegenAh.OK && !r.RegenWh.OK {
			c.above("end_rest_v", "voltage_rises", r.EndRestV, top, "is above the volts before the ride")
		}
	}
	if cutoff := c.cutoffAt(r.At); cutoff.OK {
		c.below("min_v", "below_the_cutoff", r.MinV, cutoff.scaled(slipUnderCutoff), "is far below the volts at which protection opens")
	}
	// Gross and net agree where nothing was braked back in.
	netAh := Num{r.DischargedAh.V - r.RegenAh.Or(0), r.DischargedAh.OK}
	netWh := Num{r.DischargedWh.V - r.RegenWh.Or(0), r.DischargedWh.OK}
	c.above("discharged_ah", "more_than_the_pack", netAh, c.packAh().scaled(slipAhShare), "is more than this pack holds")
	c.above("discharged_wh", "more_than_the_pack", netWh, c.packWh().scaled(slipWhShare), "is more than this pack holds")
	c.temperatures(r.AmbientC, r.PackC, slipPackC)
	c.distance(r, netWh)
	c.odometer(r)
	c.pressure("tyre_kpa", r.TyreKpa, c.usualTyre(r))
	c.riderMass(r)
	c.overlap("at", r.At, EndOf(r))
}

func (c *slipCase) check(r *Check) {
	c.volts("rest_v", r.RestV, slipRestCellV)
	c.volts("load_v", r.LoadV, slipLoadCellV)
	c.temperatures(Num{}, r.PackC, slipRestPackC)
	c.groups(r)
	if n, usual := c.usualOhms(r); n > 0 {
		c.above("resistance_mohm", "unlike_the_rest", r.ResistanceMohm, Some(usual*5), "is far above the earlier checks")
		c.below("resistance_mohm", "unlike_the_rest", r.ResistanceMohm, Some(usual/5), "is far below the earlier checks (typed in ohms?)")
		return
	}
	c.below("resistance_mohm", "unlikely", r.ResistanceMohm, Some(max(1, c.leastMohm())), "is less than leads, plugs and cells have (typed in ohms?)")
	c.above("resistance_mohm", "unlikely", r.ResistanceMohm, Some(slipMostMohm), "is more than any pack has that drives a board")
}

// leastMohm is the least that the cells of the pack can have, 0 where its layout is not
// known: those of 3 Ah that are made for most current have 10 mΩ and more, larger ones
// less in proportion (from memory); half of that is taken.
func (c *slipCase) leastMohm() float64 {
	if c.h == nil || !c.h.Pack.Series.OK {
		return 0
	}
	ah := c.packAh()
	if !ah.OK {
		return 0
	}
	return c.h.Pack.Series.V * 15 / ah.V
}

// slipMostMohm drops half of the volts of a small pack at 3 A: common practice, no
// source.
const slipMostMohm = 4000

// usualOhms is the middle of the other checks by the same method.
func (c *slipCase) usualOhms(r *Check) (n int, usual float64) {
	if c.h == nil {
		return 0, 0
	}
	return c.past.ohms[ohmsBy(r)].without(r.ID)
}

// groups holds the volts of the series groups against the cell and the pack.
func (c *slipCase) groups(r *Check) {
	if c.h == nil || len(r.GroupV) == 0 {
		return
	}
	if n := c.h.Pack.Series; n.OK && float64(len(r.GroupV)) != n.V {
		// A count, not volts: the slip has no value in the unit of the field.
		c.add("group_v", "count_of_groups", Num{}, Num{}, Num{}, "holds %d voltages: want %g, one of each series group of this pack", len(r.GroupV), n.V)
	}
	full := c.cellFullV(r.At) * slipVoltShare
	c.above("group_v", "voltage_above_full", Some(slices.Max(r.GroupV)), Some(full), "holds a group above the full voltage of a cell")
}

func (c *slipCase) temperatures(ambient, pack Num, mostPackC float64) {
	c.below("ambient_c", "colder_than_ridden", ambient, Some(slipColdC), "is colder than boards are ridden or charged in")
	c.above("ambient_c", "typed_in_fahrenheit", ambient, Some(slipAmbientC), "is hotter than riders see (typed in Fahrenheit?)")
	c.above("pack_c", "typed_in_fahrenheit", pack, Some(mostPackC), "is hotter than a pack may get: let it cool where nothing can burn and have it inspected (or was it typed in Fahrenheit?)")
}

// slipColdC is from memory: electronics and cells of boards are rated to -20 °C.
const slipColdC = -30

const slipTouch = 2 * time.Minute

// retired looks for a ride or a charge of a pack that was taken out of use.
func (c *slipCase) retired(at time.Time) {
	if c.h == nil {
		return
	}
	if since := c.h.Retired(); since != nil && at.After(since.At) {
		c.add("pack", "pack_retired", Num{}, Num{}, Num{}, "was retired on %s (%s): do not ride or charge it; remove that record if it is wrong", since.At.In(c.now.Location()).Format(DateLayout), since.ID)
	}
}

// overlap looks for another ride or charge of the pack in the same time.
// Times are often noted to the minute, so touching is not overlapping.
func (c *slipCase) overlap(field string, start, end time.Time) {
	if c.h == nil {
		return
	}
	if o, ok := c.past.spans.meeting(c.r, start, end); ok {
		c.add(field, "overlaps", Num{}, Num{}, Num{}, "overlaps %s, which lasted from %s to %s: want another time, or amend that one",
			HeadOf(o.r).ID, FormatTime(o.from), FormatTime(o.to))
	}
}

func maxTime(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// riderMass compares with the same rider's earlier rides, else with the
// pack's reference rider.
func (c *slipCase) riderMass(r *Ride) {
	usual := 0.0
	if c.h != nil {
		usual = c.h.Pack.RefRiderKg.Or(0)
		if n, kg := c.past.riders[r.Rider].without(r.ID); n > 0 {
			usual = kg
		}
	}
	if usual == 0 {
		c.above("rider_kg", "typed_in_pounds", r.RiderKg, Some(160), "is heavier than most riders (typed in pounds?)")
		c.below("rider_kg", "unlikely", r.RiderKg, Some(20), "is lighter than anybody who rides")
		return
	}
	c.above("rider_kg", "typed_in_pounds", r.RiderKg, Some(usual*1.6), "is far above the usual mass (typed in pounds?)")
	c.below("rider_kg", "unlike_the_rest", r.RiderKg, Some(usual/2), "is far below the usual mass")
}

// distance holds the distance against the energy, the time and the pack.
func (c *slipCase) distance(r *Ride, netWh Num) {
	d := r.DistanceKm
	if !d.OK {
		return
	}
	if d.V == 0 {
		c.noDistance(r)
		return
	}
	c.pace(r)
	least, most := c.consumption(r)
	if netWh.OK && netWh.V > 0 {
		c.above("distance_km", "too_far_for_the_energy", d, Some(netWh.V/least), "is farther than the energy taken out could carry")
		c.below("distance_km", "too_short_for_the_energy", d, Some(netWh.V/most), "is far too short for the energy taken out")
		return
	}
	c.above("distance_km", "too_far_for_the_pack", d, c.packWh().scaled(slipFullShare/least), "is farther than a full charge of this pack could carry")
}

// consumption is the least and the most Wh/km that are believed. A ride that
// brakes energy back in, or that ends lower than it began, may need next to
// nothing.
func (c *slipCase) consumption(r *Ride) (least, most float64) {
	least, most = slipLeastWhKm, slipMostWhKm
	if c.h != nil {
		if n, usual := c.past.consumption.without(r.ID); n >= slipFew {
			least, most = math.Max(least, usual/slipConsumption), math.Min(most, usual*slipConsumption)
		}
	}
	up := rises(r)
	if r.RegenWh.OK || r.RegenAh.OK || up < -slipLevelM {
		least = slipLeastWhKm / 20
	}
	return least, most + slipRiseWh*max(up, 0)
}

// rises is how much higher than it began a ride ended, metres for each km of its way.
func rises(r *Ride) float64 { return (r.ClimbM.V - r.DescentM.V) / r.DistanceKm.V }

// slipLevelM is how far a ride may go down in all, for each km, to be taken as
// level: 100 kg give up 0.3 Wh for each metre (m g h). slipRiseWh is what a metre up may
// take of the pack, of 150 kg by drives that turn half into motion. Beyond slipHillM a ride
// does not tell what others take.
const (
	slipLevelM = 1.0
	slipHillM  = 5.0
	slipRiseWh = .8
)

// slipMovingMin is what rounding start and end to a quarter of an hour makes.
const slipMovingMin = 15

// pace holds the distance against the time that it took.
func (c *slipCase) pace(r *Ride) {
	d := r.DistanceKm
	hours := Num{r.End.Sub(r.At).Hours(), !r.End.IsZero()}
	if r.MovingMin.OK {
		c.above("moving_min", "longer_than_the_ride", r.MovingMin, hours.scaled(60*1.05).plus(slipMovingMin), "is longer than the ride from start to end")
		hours = r.MovingMin.scaled(1. / 60)
	}
	if !hours.OK || hours.V <= 0 {
		return
	}
	if v := r.MovingSpeedKmh; v.OK && r.MovingMin.OK {
		if told := v.V * hours.V; d.V > told*1.3 || d.V < told/1.3 {
			c.add("distance_km", "denied_by_speed_and_time", d, Some(told/1.3), Some(told*1.3), "does not agree with moving_speed_kmh and moving_min")
		}
		return
	}
	c.above("distance_km", "too_fast", d, Some(hours.V*slipMostKmh), "would need a mean speed that boards do not reach")
}

// odometer holds the reading against those before and after it on the board.
func (c *slipCase) odometer(r *Ride) {
	if c.h == nil || !r.OdometerKm.OK {
		return
	}
	before, after := c.past.neighbours(c.h.RideBoard(r), r)
	odo := r.OdometerKm
	if after != nil {
		c.above("odometer_km", "above_a_later_reading", odo, Some(after.OdometerKm.V+slipOdometerKm), "is above the reading of "+after.ID+", a later ride")
	}
	if before == nil {
		return
	}
	gone := odo.V - before.OdometerKm.V
	if gone < -slipOdometerKm {
		c.add("odometer_km", "below_an_earlier_reading", odo, before.OdometerKm, Num{}, "is below the reading of %s, an earlier ride", before.ID)
		return
	}
	days := EndOf(r).Sub(EndOf(before)).Hours()/24 + 1
	c.above("odometer_km", "jumps", odo, Some(before.OdometerKm.V+days*MostKmADay), "is far above the reading of "+before.ID)
	// An odometer may be off by a tenth (a worn or an odd tyre).
	c.above("distance_km", "denied_by_the_odometer", r.DistanceKm, Some(gone*1.1+slipOdometerKm), "is more than the odometer has moved since "+before.ID)
}

// noDistance looks at a ride of no distance. Nobody logs one that took nothing,
// and what took something went somewhere.
func (c *slipCase) noDistance(r *Ride) {
	text := "is no distance, though the ride took energy out: leave the distance out where it is not known"
	if !(r.DischargedAh.V > 0) && !(r.DischargedWh.V > 0) {
		text = "is no distance, and no meter says more: leave the distance out where it is not known"
	}
	c.add("distance_km", "no_distance", r.DistanceKm, Num{}, Num{}, "%s", text)
}
