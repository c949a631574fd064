package logbook

import (
	"strings"
	"testing"
	"time"
)

// slipDay is the day on which the invented records below lie.
func slipDay(clock string) time.Time {
	t, err := time.Parse("2006-01-02 15:04", "2026-04-10 "+clock)
	if err != nil {
		panic(err)
	}
	return t
}

// slipHistory is an invented pack of 10s4p cells of 3 Ah (12 Ah, and 432 Wh at
// 3.6 V a cell, by the definition series x parallel x Ah x V)
// with six like rides.
func slipHistory(t *testing.T) *History {
	t.Helper()
	all := []Record{
		&Board{Head: Head{ID: "reed", Rev: 1}, RefTyreKpa: Some(240)},
		&Pack{Head: Head{ID: "reed-a", Rev: 1}, Board: "reed", Chemistry: "nmc", Series: Some(10), Parallel: Some(4),
			CellCapacityAh: Some(3), CellNominalV: Some(3.6), CellFullV: Some(4.2), LimitV: Some(30), CutoffV: Some(24.5), InService: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)},
		&Charge{Head: Head{ID: "c1", Rev: 1}, Pack: "reed-a", Start: slipDay("05:00"), At: slipDay("07:00"), ChargedAh: Some(5)},
		&Check{Head: Head{ID: "k1", Rev: 1}, Pack: "reed-a", At: slipDay("07:10"), ResistanceMohm: Some(90)},
	}
	for i := range 6 {
		day := time.Date(2026, 4, 1+i, 18, 0, 0, 0, time.UTC)
		all = append(all, &Ride{Head: Head{ID: "r" + string(rune('1'+i)), Rev: 1}, Pack: "reed-a", Board: "reed", At: day, End: day.Add(time.Hour),
			DistanceKm: Some(15), OdometerKm: Some(100 + 15*float64(i)), DischargedWh: Some(165), TyreKpa: Some(235), RiderKg: Some(78)})
	}
	h, err := NewHistory("reed-a", all, slipDay("23:59"))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func slipRide(change func(*Ride)) *Ride {
	r := &Ride{Head: Head{ID: "new", Rev: 1}, Pack: "reed-a", Board: "reed", At: slipDay("18:00"), End: slipDay("19:00"),
		DistanceKm: Some(15), OdometerKm: Some(192), DischargedWh: Some(170), StartRestV: Some(41.5), EndRestV: Some(37), MinV: Some(34),
		TyreKpa: Some(230), RiderKg: Some(79), AmbientC: Some(18)}
	change(r)
	return r
}

// TestSlipsAfterNewCells: they may hold more than the record's rating, which nobody need
// have amended, but not anything.
func TestSlipsAfterNewCells(t *testing.T) {
	h := slipHistory(t)
	charge := func(ah float64) *Charge {
		return &Charge{Head: Head{ID: "new", Rev: 1}, Pack: "reed-a", At: slipDay("17:00"), ChargedAh: Some(ah)}
	}
	slips := func(ah float64) int { return len(NewJudge(h, slipDay("23:59")).Slips(charge(ah))) }
	if slips(17) != 1 {
		t.Error("17 Ah into a pack of 12 Ah are no slip")
	}
	h.Services = append(h.Services, &Service{Head: Head{ID: "s1", Rev: 1}, Pack: "reed-a", At: slipDay("12:00"), What: "cells_replaced"})
	if slips(17) != 0 || slips(118) != 1 {
		t.Errorf("after new cells: %d slips of 17 Ah, %d of 118 Ah", slips(17), slips(118))
	}
}

// TestSlipsOfARetiredPack: it is neither ridden nor charged; checks go on, and what
// happened before is left alone.
func TestSlipsOfARetiredPack(t *testing.T) {
	h := slipHistory(t)
	h.Services = append(h.Services, &Service{Head: Head{ID: "s1", Rev: 1}, Pack: "reed-a", At: slipDay("12:00"), What: "retired"})
	for _, c := range []struct {
		r    Record
		want int
	}{
		{slipRide(func(*Ride) {}), 1},
		{slipRide(func(r *Ride) { r.At, r.End = slipDay("08:00"), slipDay("09:00") }), 0},
		{&Charge{Head: Head{ID: "new", Rev: 1}, Pack: "reed-a", At: slipDay("19:00")}, 1},
		{&Check{Head: Head{ID: "new", Rev: 1}, Pack: "reed-a", At: slipDay("19:00"), ResistanceMohm: Some(95)}, 0},
	} {
		n := 0
		for _, s := range Slips(h, c.r, slipDay("20:00")) {
			if s.Code == "pack_retired" && s.Field == "pack" {
				n++
			}
		}
		if n != c.want {
			t.Errorf("%+v: %d slips, want %d", c.r, n, c.want)
		}
	}
}

// TestSlips walks each rule from a record that passes to one that does not.
// What is a slip is this project's choice (common practice, no source).
func TestSlips(t *testing.T) {
	h := slipHistory(t)
	now := slipDay("20:00")
	charge := func(change func(*Charge)) *Charge {
		c := &Charge{Head: Head{ID: "new", Rev: 1}, Pack: "reed-a", At: slipDay("12:00"), Start: slipDay("10:00"),
			ChargedAh: Some(11.8), ChargedWh: Some(450), StartRestV: Some(33), EndRestV: Some(41.9)}
		change(c)
		return c
	}
	check := func(change func(*Check)) *Check {
		c := &Check{Head: Head{ID: "new", Rev: 1}, Pack: "reed-a", At: slipDay("12:00"), ResistanceMohm: Some(95)}
		change(c)
		return c
	}
	setup := func(change func(*Setup)) *Setup {
		s := &Setup{Head: Head{ID: "new", Rev: 1}, Pack: "reed-a", At: slipDay("12:00")}
		change(s)
		return s
	}
	for _, tc := range []struct {
		name string
		r    Record
		want string // field:code of each slip, blanks between
	}{
		{"a plain ride", slipRide(func(*Ride) {}), ""},
		{"23 km typed as 2300", slipRide(func(r *Ride) { r.DistanceKm = Some(1500); r.OdometerKm, r.End = Num{}, time.Time{} }), "distance_km:too_far_for_the_energy"},
		{"the same without energy", slipRide(func(r *Ride) {
			r.DistanceKm, r.DischargedWh, r.OdometerKm, r.End = Some(1500), Num{}, Num{}, time.Time{}
		}), "distance_km:too_far_for_the_pack"},
		// 432 Wh over 114 km are 3.8 Wh/km, less than the road takes (see slipLeastWhKm).
		{"miles beyond the pack, without energy", slipRide(func(r *Ride) {
			r.DistanceKm, r.DischargedWh, r.OdometerKm, r.End = Some(114.3), Num{}, Num{}, time.Time{}
		}), "distance_km:too_far_for_the_pack"},
		{"down a long hill it may be less", slipRide(func(r *Ride) {
			r.DistanceKm, r.DischargedWh, r.OdometerKm, r.DescentM = Some(15), Some(40), Num{}, Some(400)
		}), ""},
		{"no distance, though it took energy", slipRide(func(r *Ride) { r.DistanceKm, r.OdometerKm = Some(0), Num{} }), "distance_km:no_distance"},
		{"no distance and no energy", slipRide(func(r *Ride) { r.DistanceKm, r.DischargedWh, r.OdometerKm = Some(0), Num{}, Num{} }), "distance_km:no_distance"},
		{"a distance that is left out", slipRide(func(r *Ride) { r.DistanceKm, r.OdometerKm = Num{}, Num{} }), ""},
		{"a decimal point lost in the energy", slipRide(func(r *Ride) { r.DistanceKm = Some(1.5) }), "distance_km:too_short_for_the_energy"},
		{"faster than boards go", slipRide(func(r *Ride) { r.End = r.At.Add(time.Minute) }), "distance_km:too_fast"},
		{"speed and time deny it", slipRide(func(r *Ride) { r.MovingMin, r.MovingSpeedKmh = Some(30), Some(20) }), "distance_km:denied_by_speed_and_time"},
		{"the odometer denies it", slipRide(func(r *Ride) { r.OdometerKm = Some(178) }), "distance_km:denied_by_the_odometer"},
		{"the odometer runs back", slipRide(func(r *Ride) { r.OdometerKm = Some(92) }), "odometer_km:below_an_earlier_reading"},
		{"a digit too many on it", slipRide(func(r *Ride) { r.OdometerKm = Some(19200) }), "odometer_km:jumps"},
		{"ahead of a later ride", slipRide(func(r *Ride) {
			r.At, r.End = r.At.AddDate(0, 0, -20), r.End.AddDate(0, 0, -20)
			r.OdometerKm = Some(101)
		}), "odometer_km:above_a_later_reading"},
		{"psi typed as kPa", slipRide(func(r *Ride) { r.TyreKpa = Some(35) }), "tyre_kpa:typed_in_psi"},
		{"bar typed as kPa", slipRide(func(r *Ride) { r.TyreKpa = Some(2.3) }), "tyre_kpa:typed_in_bar"},
		{"far above the usual pressure", slipRide(func(r *Ride) { r.TyreKpa = Some(900) }), "tyre_kpa:unlike_the_rest"},
		{"a soft tyre is no slip", slipRide(func(r *Ride) { r.TyreKpa = Some(130) }), ""},
		{"lb typed as kg", slipRide(func(r *Ride) { r.RiderKg = Some(172) }), "rider_kg:typed_in_pounds"},
		{"F typed as C", slipRide(func(r *Ride) { r.AmbientC = Some(64) }), "ambient_c:typed_in_fahrenheit"},
		{"volts above full", slipRide(func(r *Ride) { r.StartRestV = Some(45.1) }), "start_rest_v:voltage_above_full"},
		{"just full is no slip", slipRide(func(r *Ride) { r.StartRestV = Some(42.1) }), ""},
		{"a decimal point lost", slipRide(func(r *Ride) { r.EndRestV = Some(3.7) }), "end_rest_v:voltage_too_low"},
		{"volts rise in a ride", slipRide(func(r *Ride) { r.StartRestV, r.EndRestV = Some(37), Some(41.5) }), "end_rest_v:voltage_rises"},
		{"more than the pack", slipRide(func(r *Ride) { r.DischargedAh = Some(17) }), "discharged_ah:more_than_the_pack"},
		{"in the future", slipRide(func(r *Ride) { r.At, r.End = slipDay("20:30"), slipDay("21:00") }), "at:in_the_future end:in_the_future"},
		{"before the pack was in service", slipRide(func(r *Ride) {
			r.At, r.End, r.OdometerKm = r.At.AddDate(-1, 0, 0), r.End.AddDate(-1, 0, 0), Num{}
		}), "at:before_in_service"},
		{"over another ride", slipRide(func(r *Ride) {
			r.At, r.End, r.OdometerKm = r.At.AddDate(0, 0, -5), r.End.AddDate(0, 0, -5), Num{}
		}), "at:overlaps"},
		{"over a charge", slipRide(func(r *Ride) { r.At, r.End = slipDay("06:00"), slipDay("07:00") }), "at:overlaps"},
		{"next to a charge", slipRide(func(r *Ride) { r.At, r.End = slipDay("07:00"), slipDay("08:00") }), ""},
		{"an amendment does not overlap itself", slipRide(func(r *Ride) {
			r.ID, r.At, r.End, r.OdometerKm = "r5", r.At.AddDate(0, 0, -5), r.End.AddDate(0, 0, -5), Num{}
		}), ""},
		{"a pack checked in the sun", check(func(c *Check) { c.PackC = Some(44) }), ""},
		{"a pack checked at 68 °F", check(func(c *Check) { c.PackC = Some(68) }), "pack_c:typed_in_fahrenheit"},
		{"a pack ridden hot", slipRide(func(r *Ride) { r.PackC = Some(57) }), ""},
		{"a plain charge", charge(func(*Charge) {}), ""},
		{"a charge larger than the pack", charge(func(c *Charge) { c.ChargedAh = Some(118) }), "charged_ah:more_than_the_pack"},
		{"the same in Wh", charge(func(c *Charge) { c.ChargedWh = Some(700) }), "charged_wh:more_than_the_pack"},
		{"at the wall it may be more", charge(func(c *Charge) { c.ChargedAh, c.ChargedWh, c.MeterSide = Num{}, Some(600), "ac" }), ""},
		{"volts fall in a charge", charge(func(c *Charge) { c.StartRestV, c.EndRestV = Some(41.9), Some(33) }), "end_rest_v:voltage_falls"},
		{"a charge of days", charge(func(c *Charge) { c.Start = slipDay("10:00").AddDate(0, 0, -4) }), "start:very_long start:overlaps"},
		{"over another charge", charge(func(c *Charge) { c.Start = slipDay("06:00") }), "start:overlaps"},
		{"a plain check", check(func(*Check) {}), ""},
		{"ohms typed as milliohms", check(func(c *Check) { c.ResistanceMohm = Some(0.095) }), "resistance_mohm:unlike_the_rest"},
		{"milliohms typed as ohms, of the other way to say dc", check(func(c *Check) { c.ResistanceMohm, c.Method = Some(90000), "dc" }), "resistance_mohm:unlike_the_rest"},
		{"more than any pack, with nothing to hold it against", check(func(c *Check) { c.ResistanceMohm, c.Method = Some(10000), "ac" }), "resistance_mohm:unlikely"},
		{"moving for longer than it took", slipRide(func(r *Ride) { r.MovingMin = Some(90) }), "moving_min:longer_than_the_ride"},
		{"moving all of a rounded time", slipRide(func(r *Ride) { r.MovingMin = Some(62) }), ""},
		{"less than its cells have", check(func(c *Check) { c.ResistanceMohm, c.Method = Some(9), "ac" }), "resistance_mohm:unlikely"},
		{"minus forty", slipRide(func(r *Ride) { r.AmbientC = Some(-40) }), "ambient_c:colder_than_ridden"},
		{"a group too many", check(func(c *Check) { c.GroupV = []float64{4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4} }), "group_v:count_of_groups"},
		{"a limit of two cells", setup(func(s *Setup) { s.LimitV = Some(6.2) }), "limit_v:limit_too_low"},
		{"a limit of 10s is fine", setup(func(s *Setup) { s.LimitV = Some(25) }), ""},
		{"a limit above full", setup(func(s *Setup) { s.LimitV = Some(60) }), "limit_v:limit_above_full"},
		{"a limit below the cutoff in force", setup(func(s *Setup) { s.LimitV = Some(23) }), "limit_v:limit_below_cutoff"},
		{"a limit below its own cutoff", setup(func(s *Setup) { s.LimitV, s.CutoffV = Some(28), Some(29) }), "limit_v:limit_below_cutoff"},
		{"a cutoff above the limit in force", setup(func(s *Setup) { s.CutoffV = Some(33) }), "cutoff_v:cutoff_above_limit"},
		{"volts far below the cutoff", slipRide(func(r *Ride) { r.MinV = Some(21.4) }), "min_v:below_the_cutoff"},
		{"volts at the cutoff", slipRide(func(r *Ride) { r.MinV, r.Stop = Some(24.2), "cutoff" }), ""},
		{"a cutoff of one cell", setup(func(s *Setup) { s.CutoffV = Some(2.5) }), "cutoff_v:cutoff_too_low"},
		{"cells that are full at nothing", setup(func(s *Setup) { s.CellFullV = Some(2) }), "cell_full_v:full_too_low"},
		{"cells charged to harm", setup(func(s *Setup) { s.CellFullV = Some(4.8) }), "cell_full_v:full_too_high"},
		{"a pack with the limit of fewer cells", &Pack{Head: Head{ID: "x"}, Series: Some(10), LimitV: Some(12)}, "limit_v:limit_too_low"},
		{"a pack with a limit above full", &Pack{Head: Head{ID: "x"}, Series: Some(10), LimitV: Some(60)}, "limit_v:limit_above_full"},
		{"a pack with a cutoff above full", &Pack{Head: Head{ID: "x"}, Series: Some(10), CutoffV: Some(60)}, "cutoff_v:cutoff_above_full"},
		{"lfp charged as nmc", &Pack{Head: Head{ID: "x"}, Chemistry: "lfp", CellFullV: Some(4.2)}, "cell_full_v:full_too_high"},
		{"a pack of unknown series", &Pack{Head: Head{ID: "x"}, LimitV: Some(12)}, ""},
		{"a group above full", check(func(c *Check) { c.GroupV = []float64{4, 4, 4, 4, 4, 4, 4, 4, 4, 4.5} }), "group_v:voltage_above_full"},
		{"a board's pressure in psi", &Board{Head: Head{ID: "x"}, RefTyreKpa: Some(35)}, "ref_tyre_kpa:typed_in_psi"},
	} {
		var got []string
		for _, s := range Slips(h, tc.r, now) {
			got = append(got, s.Field+":"+s.Code)
			if _, ok := FieldNamed(tc.r.Kind(), s.Field); !ok || s.Text == "" {
				t.Errorf("%s: slip %+v names no field or says nothing", tc.name, s)
			}
			if s.Value.OK && (s.Min.OK && s.Max.OK && s.Value.V >= s.Min.V && s.Value.V <= s.Max.V) {
				t.Errorf("%s: slip %+v lies between its own bounds", tc.name, s)
			}
		}
		if strings.Join(got, " ") != tc.want {
			t.Errorf("%s: got slips %q, want %q", tc.name, got, tc.want)
		}
	}
}

// TestSlipsWithoutHistory: what a record says alone is still looked at, and
// what is absent gives no slip.
func TestSlipsWithoutHistory(t *testing.T) {
	now := slipDay("20:00")
	if got := Slips(nil, slipRide(func(*Ride) {}), now); len(got) != 0 {
		t.Errorf("a plain ride: %+v", got)
	}
	for _, k := range Kinds {
		if got := Slips(nil, New(k), now); len(got) != 0 {
			t.Errorf("an empty %s: %+v", k, got)
		}
		h := &History{Pack: &Pack{}}
		if got := Slips(h, New(k), now); len(got) != 0 {
			t.Errorf("an empty %s of an empty pack: %+v", k, got)
		}
	}
}

// TestSetupRaisesFull: a setup that lets a pack be charged higher moves the
// bound from its time on.
func TestSetupRaisesFull(t *testing.T) {
	h := slipHistory(t)
	ride := slipRide(func(r *Ride) { r.StartRestV = Some(43.3) })
	if got := Slips(h, ride, slipDay("20:00")); len(got) != 1 {
		t.Fatalf("before the setup: %+v", got)
	}
	h.Setups = append(h.Setups, &Setup{Head: Head{ID: "s"}, Pack: "reed-a", At: slipDay("00:00"), CellFullV: Some(4.35)})
	if got := Slips(h, ride, slipDay("20:00")); len(got) != 0 {
		t.Errorf("after the setup: %+v", got)
	}
	h.Setups[0].At = slipDay("18:30")
	if got := Slips(h, ride, slipDay("20:00")); len(got) != 1 {
		t.Errorf("with a setup later in the day: %+v", got)
	}
}

// TestFutureSaysWholeSeconds: what would be accepted is a time that a person
// can type.
func TestFutureSaysWholeSeconds(t *testing.T) {
	now := time.Date(2026, 5, 3, 12, 0, 0, 123456789, time.UTC)
	r := &Ride{Pack: "heron-a", At: now.Add(26 * time.Hour), DistanceKm: Some(5)}
	slips := Slips(nil, r, now)
	if len(slips) != 1 || slips[0].Text != "lies in the future: want a time not after 2026-05-03T12:00:00Z" {
		t.Errorf("%+v", slips)
	}
	r.At = now.Add(3 * time.Hour)
	if slips = Slips(nil, r, now); len(slips) != 1 || !strings.Contains(slips[0].Text, `(was it "yesterday 15:00"?)`) {
		t.Errorf("a time of day that is still to come: %+v", slips)
	}
}
