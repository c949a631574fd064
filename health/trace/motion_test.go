package trace

import (
	"fmt"
	"math"
	"testing"

	"packwane/health/logbook"
)

// TestMotion has a speed and an odometer: distance, moving speed, power.
func TestMotion(t *testing.T) {
	b := newBench()
	b.run(300, 1, hold(0))
	b.run(3600, 1, func(s float64) float64 {
		if math.Mod(s, 600) < 60 {
			return 0 // at the lights
		}
		return -6
	})
	b.run(900, 1, hold(0))
	moving, km := 0.0, 0.0
	for k := range b.rows {
		if b.rows[k].i < 0 {
			b.rows[k].kmh = 22 + 3*math.Sin(b.rows[k].t/20)
			moving++
			km += b.rows[k].kmh / 3600
		}
	}
	odo := 812.0
	for _, withOdo := range []bool{false, true} {
		form := csvForm{header: "time_s,voltage_v,current_a,speed (mph)", row: func(s sample) string {
			return fmt.Sprintf("%.1f,%.4f,%.4f,%.4f", s.t, s.v, s.i, s.kmh/1.609344) // SP 811: mile
		}}
		if withOdo {
			form = csvForm{header: "time_s,voltage_v,current_a,speed_kmh,odometer_km", row: func(s sample) string {
				odo += s.kmh / 3600 * 1.01 // its own wheel
				return fmt.Sprintf("%.1f,%.4f,%.4f,%.4f,%.4f", s.t, s.v, s.i, s.kmh, odo)
			}}
		}
		r := read(t, form.write(b.rows))
		rides := recordsOf[*logbook.Ride](r)
		if len(rides) != 1 {
			t.Fatalf("%d rides, want 1: stops do not end it", len(rides))
		}
		want := km
		if withOdo {
			want *= 1.01
			near(t, "odometer_km", rides[0].OdometerKm.V, odo, 1e-5)
		}
		near(t, "distance_km", rides[0].DistanceKm.V, want, 2e-3)
		near(t, "moving_min", rides[0].MovingMin.V, moving/60, 5e-3)
		near(t, "moving_speed_kmh", rides[0].MovingSpeedKmh.V, 22, 5e-3)
		near(t, "speed_sd_kmh", rides[0].SpeedSdKmh.V, 3/math.Sqrt2, 0.1)
		if n := len(r.Learned.Power); n == 0 {
			t.Error("no power over speed")
		}
		for _, p := range r.Learned.Power {
			if p.SpeedKmh == 22.5 {
				near(t, "power", p.PowerW, 6*38, 0.08)
			}
		}
	}
}

// TestGroups has the voltage of each group and none of the pack.
func TestGroups(t *testing.T) {
	b := newBench()
	b.drawnAh = 4
	b.run(60, 1, hold(0))
	b.run(3000, 1, hold(3))
	b.run(1800, 1, hold(0))
	header := "time_s,current_a"
	for g := range 10 {
		header += fmt.Sprintf(",cell%d_mv", g+1)
	}
	form := csvForm{header: header, row: func(s sample) string {
		line := fmt.Sprintf("%.0f,%.3f", s.t, s.i)
		for g := range 10 {
			line += fmt.Sprintf(",%.1f", 100*s.v+float64(g)-4.5)
		}
		return line
	}}
	r := read(t, form.write(b.rows))
	if codes(r) != "voltage_from_groups" {
		t.Errorf("warnings %v", r.Warnings)
	}
	charge := recordsOf[*logbook.Charge](r)[0]
	near(t, "cell_spread_mv", charge.CellSpreadMv.V, 9, 0.02)
	near(t, "end_rest_v", charge.EndRestV.V, 10*(4.15-0.9*(4-2.5)/12), 1e-3)
	found := false
	for _, c := range recordsOf[*logbook.Check](r) {
		if len(c.GroupV) == 10 {
			found = true
			near(t, "group_v[0]", c.GroupV[0], charge.EndRestV.V/10-0.0045, 1e-4)
		}
	}
	if !found {
		t.Error("no check of the groups after the charge")
	}
}

// TestRestPairs pairs rests: the straight open-circuit line gives the charge
// between them back.
func TestRestPairs(t *testing.T) {
	r := read(t, plain.write(outing().rows))
	for _, p := range r.Learned.RestPairs {
		near(t, "Ah between rests", p.NetAh, (p.ToV-p.FromV)/10/0.9*12, 0.01)
	}
	if n := len(r.Learned.RestPairs); n != 2 {
		t.Errorf("%d pairs of rests, want 2", n)
	}
	if n := len(r.Learned.OCV); n != 3 {
		t.Errorf("%d rest voltages, want 3", n)
	}
}
