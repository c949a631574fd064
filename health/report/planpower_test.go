package report

import (
	"math"
	"testing"
)

// Two groups, two-sided, tests in each group: R's power.t.test (noncentral t)
// as its documentation and common worked examples print it, and J. Cohen,
// Statistical Power Analysis for the Behavioral Sciences (1988), table 2.4.1,
// which rounds up: d = 0.2, 0.5, 0.8 at 80 % want 393, 64, 26; d = 0.5 at
// 90 % wants 85.
func TestPowerAgainstPublishedTables(t *testing.T) {
	if n := testsFor(1, false); math.Abs(n-22.02110) > 5e-5 {
		t.Errorf("one standard deviation, 90 %%: %.5f tests each, R gives 22.02110", n)
	}
	for _, c := range []struct {
		d    float64
		n    float64
		want float64
	}{
		{1, 20, .8689528}, // R: power.t.test(n = 20, delta = 1), the example of its documentation
		{.5, 85.03128, .90}, {.2, 393.4057, .80}, {.5, 63.76561, .80}, {.8, 25.52458, .80},
	} {
		if p := testPower(c.n, c.d, false); math.Abs(p-c.want) > 2e-5 {
			t.Errorf("d %g with %g each: power %.6f, want %.6f", c.d, c.n, p, c.want)
		}
	}
}

// One sample or pairs: Cohen 1988, §2.3 with d = √2·d' (from memory: R's
// power.t.test for type "paired", d = 0.5 at 80 % gives 33.37 pairs; d = 1 at
// 90 % gives 12.59).
func TestPowerOfPairs(t *testing.T) {
	if p := testPower(33.36713, .5, true); math.Abs(p-.8) > 2e-5 {
		t.Errorf("power of 33.37 pairs at half a standard deviation: %.6f, want 0.8", p)
	}
	if n := testsFor(1, true); math.Abs(n-12.59) > .01 {
		t.Errorf("pairs for one standard deviation at 90 %%: %.4f, want 12.59", n)
	}
}

// With no difference a test finds one as often as its level says, and a
// central t is Student's: tables give 12.706 for 1 degree and 97.5 %.
func TestNoncentralTWithoutShift(t *testing.T) {
	for _, c := range []struct{ nu, at float64 }{{1, 12.7062}, {2, 4.30265}, {5, 2.57058}, {30, 2.04227}, {1000, 1.96234}} {
		if p := noncentralT(c.at, c.nu, 0); math.Abs(p-.975) > 2e-6 {
			t.Errorf("t of %g degrees at %g: %.7f, want 0.975", c.nu, c.at, p)
		}
		if p := noncentralT(-c.at, c.nu, 0); math.Abs(p-.025) > 2e-6 {
			t.Errorf("t of %g degrees at -%g: %.7f, want 0.025", c.nu, c.at, p)
		}
	}
}

func TestDetectableMeetsTestsFor(t *testing.T) {
	for _, paired := range []bool{false, true} {
		last := math.Inf(1)
		for _, n := range []int{2, 3, 4, 6, 10, 20, 50} {
			d := detectable(n, paired)
			if d >= last {
				t.Errorf("%d tests find %g, no less than fewer do", n, d)
			}
			last = d
			if back := testsFor(d, paired); math.Abs(back-float64(n)) > 1e-6*float64(n) {
				t.Errorf("%d tests find %g, for which %g are wanted", n, d, back)
			}
		}
	}
}
