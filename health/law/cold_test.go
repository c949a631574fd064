package law

import "testing"

// What cold takes, against the sum of its slope in small steps from 25 °C.
func TestColdShareIsTheSumOfItsSlope(t *testing.T) {
	const perC = .001
	near(t, "at 25", ColdShare(perC, 25), 1, 1e-12)
	near(t, "slope at 25", ColdSlope(perC, 25), perC, 1e-12)
	for _, to := range []float64{-20, -5, 0, 10, 24, 30, 40, 50} {
		share, n := 1.0, 100000
		for i := range n {
			step := (to - 25) / float64(n)
			share += step * ColdSlope(perC, 25+step*(float64(i)+.5))
		}
		near(t, "summed", ColdShare(perC, to), share, 1e-6)
	}
}

func TestColdShareFallsWithTheCold(t *testing.T) {
	for tempC := -40.0; tempC < 60; tempC++ {
		if warm, cold := ColdShare(.003, tempC+1), ColdShare(.003, tempC); cold > warm {
			t.Errorf("at %g °C a share of %g, a kelvin warmer %g", tempC, cold, warm)
		}
	}
}
