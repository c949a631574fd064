package trace

import "math"

// pulseTrain is six pulses of discharge and six of charge, 10 s each at 1C and
// 2C of a 3 Ah cell, 60 s of rest before each, on a cell whose resistance has
// grown to ohms after 10 s: three quarters at once, the rest with the
// logarithm of time (invented).
func pulseTrain(ohms, dt, tempC float64) []sample {
	var rows []sample
	t, drawn := 0.0, 0.0
	type step struct{ t, a float64 }
	var steps []step
	volts := func(now float64) float64 {
		v := 3.8 - 0.3*drawn/3
		for _, s := range steps {
			if age := now - s.t; age > 1e-9 {
				v += s.a * ohms * (0.75 + 0.25*math.Log(1+age)/math.Log(11))
			}
		}
		return v
	}
	add := func(seconds, a float64) {
		for s := dt; s <= seconds+1e-9; s += dt {
			t += dt
			drawn -= a * dt / 3600
			rows = append(rows, sample{t: t, v: volts(t), i: a, tempC: tempC})
		}
	}
	add(60, 0)
	for k := range 12 {
		a := 3.0
		if k%2 == 1 {
			a = 6
		}
		if k < 6 {
			a = -a
		}
		steps = append(steps, step{t, a})
		add(10, a)
		steps = append(steps, step{t, -a})
		add(60, 0)
	}
	return rows
}
