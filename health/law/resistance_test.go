package law

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// TestResistanceOverTemperature: NCR18650PF, 10 s pulse at 1C, mid charge
// (P. Kollmeyer 2018, doi 10.17632/wykht8y7tg), within the stated 9 %. One
// Arrhenius term cannot: through the ends it misses the middle by more.
func TestResistanceOverTemperature(t *testing.T) {
	temp, mohm := []float64{25, 10, 0, -10, -20}, []float64{41, 55, 84, 133, 217}
	for i, c := range temp {
		near(t, fmt.Sprintf("resistance at %g degrees over that at 25", c), PriorThermal.Factor(c)/(mohm[i]/mohm[0]), 1, .09)
	}
	single := math.Log(mohm[4]/mohm[0]) / (1/(temp[4]+zeroC) - 1/(25+zeroC))
	if at10 := math.Exp(single * (1/(10+zeroC) - 1/(25+zeroC))); math.Abs(at10*mohm[0]/mohm[1]-1) < .15 {
		t.Errorf("one Arrhenius term gives %.2f at 10 degrees: the two-part law is not needed", at10)
	}
	near(t, "factor at the reference", PriorThermal.Factor(ReferenceResistanceC), 1, 1e-12)
	last := math.Inf(1)
	for c := -60.0; c <= 150; c += .5 {
		f := PriorThermal.Factor(c)
		if f > last || f < PriorThermal.Ohmic || math.IsInf(f, 0) {
			t.Fatalf("factor %g at %g degrees", f, c)
		}
		last = f
	}
}

// hppc is the 10 s resistance of the three 18650 cells of
// hppc_inr18650_30q.csv (ARTS-Lab, University of South Carolina, 2025, CC
// BY-SA 4.0) at one rate, by cell and air temperature over charge level.
type hppc struct {
	cell, air string
	soc, ohm  []float64
}

func pulses(t *testing.T, rate string) []hppc {
	var out []hppc
	for _, row := range referenceRows(t, "hppc_inr18650_30q.csv") {
		if row["c_rate"] != rate {
			continue
		}
		if n := len(out); n == 0 || out[n-1].cell != row["cell"] || out[n-1].air != row["ambient_c"] {
			out = append(out, hppc{cell: row["cell"], air: row["ambient_c"]})
		}
		p := &out[len(out)-1]
		p.soc, p.ohm = append(p.soc, number(t, row, "soc_pct")/100), append(p.ohm, number(t, row, "r_pulse_end_ohm"))
	}
	if len(out) == 0 {
		t.Fatalf("no pulses at %s C", rate)
	}
	return out
}

// mid is the mean resistance from 35 to 80 % charged.
func (p *hppc) mid() float64 {
	sum, n := 0.0, 0.0
	for i, s := range p.soc {
		if s > .35 && s < .8 {
			sum, n = sum+p.ohm[i], n+1
		}
	}
	return sum / n
}

// TestLowChargeFactor holds the rise towards empty against measured pulses:
// the median of nine cells and temperatures within 12 %, each within what the
// prior of the steepness allows (two standard deviations of 0.35 in its
// logarithm) and 8 %.
func TestLowChargeFactor(t *testing.T) {
	ratios := map[int][]float64{}
	for _, p := range pulses(t, "1.0") {
		mid := p.mid()
		for i, s := range p.soc {
			if s > .35 {
				continue
			}
			got := p.ohm[i] / mid
			low, high := LowCharge(s, PriorSteepness*math.Exp(-.7))*.92, LowCharge(s, PriorSteepness*math.Exp(.7))*1.08
			if got < low || got > high {
				t.Errorf("cell %s, %s degrees, %.1f %%: %.3f times mid charge, want %.3f to %.3f", p.cell, p.air, 100*s, got, low, high)
			}
			at := int(math.Round(100 * s / 5))
			ratios[at] = append(ratios[at], got/LowCharge(s, PriorSteepness))
		}
	}
	for at, r := range ratios {
		slices.Sort(r)
		near(t, fmt.Sprintf("measured over law near %d %%", 5*at), r[len(r)/2], 1, .12)
	}
}

// TestWarmResistance: the same cells at 20, 30 and 40 °C (41.9, 36.9, 34.4 mΩ)
// follow the law with a share of resistance that does not depend on
// temperature within two standard deviations (0.10) of the prior.
func TestWarmResistance(t *testing.T) {
	at := map[string][]float64{}
	for _, p := range pulses(t, "1.0") {
		at[p.air] = append(at[p.air], p.mid())
	}
	mean := map[string]float64{}
	for air, v := range at {
		for _, x := range v {
			mean[air] += x / float64(len(v))
		}
	}
	for air, want := range map[string]float64{"20": .0419, "30": .0369, "40": .0344} {
		near(t, "mid-charge resistance at "+air, mean[air], want, .0015)
	}
	best := math.Inf(1)
	for ohmic := PriorThermal.Ohmic - .2; ohmic <= PriorThermal.Ohmic+.2; ohmic += .01 {
		th := Thermal{ohmic, PriorThermal.ActivationK}
		a := math.Abs(th.Factor(20)/th.Factor(30)/(mean["20"]/mean["30"]) - 1)
		b := math.Abs(th.Factor(40)/th.Factor(30)/(mean["40"]/mean["30"]) - 1)
		best = min(best, max(a, b))
	}
	near(t, "what is left of the law over temperature", best, 0, .04)
}

// TestMeanLowCharge against gonum's quadrature.
func TestMeanLowCharge(t *testing.T) {
	for _, span := range [][2]float64{{1, 0}, {.9, .1}, {.3, .29}, {.1, .02}} {
		f := func(s float64) float64 { return LowCharge(s, 1.3) }
		want := quad.Fixed(f, span[1], span[0], 200, nil, 0) / (span[0] - span[1])
		near(t, fmt.Sprintf("mean over %v", span), MeanLowCharge(span[0], span[1], 1.3), want, 1e-9)
	}
	near(t, "mean over nothing", MeanLowCharge(.2, .2, 1.3), LowCharge(.2, 1.3), 1e-12)
}

// TestTwoLevelResistance by IEC 61960-3: 0.2 It for 10 s, then 1.0 It for 1 s.
// A cell of 2.5 Ah with 3.712 V at 0.5 A and 3.630 V at 2.5 A has
// (3.712 - 3.630)/(2.5 - 0.5) = 0.041 Ω, worked by hand.
func TestTwoLevelResistance(t *testing.T) {
	near(t, "two levels", TwoLevelOhm(3.712, .5, 3.630, 2.5), .041, 1e-12)
	near(t, "two levels the other way round", TwoLevelOhm(3.630, 2.5, 3.712, .5), .041, 1e-12)
	near(t, "from rest", TwoLevelOhm(36.0, 0, 35.2, 10), .08, 1e-12)
	if v := TwoLevelOhm(3.7, 1, 3.6, 1); !math.IsNaN(v) {
		t.Errorf("equal currents give %v", v)
	}
}
