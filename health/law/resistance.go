package law

import "math"

// GasConstant in J/(mol·K), exact by the SI of 2019.
const GasConstant = 8.31446261815324

const zeroC = 273.15 // °C to K

// ReferenceResistanceC is the temperature at which resistances are stated.
const ReferenceResistanceC = 25.0

// Thermal is how resistance follows temperature: a share that does not
// (metal, contacts, electrolyte) and an activated rest.
//
//	R(T)/R(25 °C) = Ohmic + (1 - Ohmic)·exp(Activation·(1/T - 1/298.15 K))
//
// One Arrhenius term alone does not fit: NCR18650PF at mid charge has 41, 55,
// 84, 133, 217 mΩ at 25, 10, 0, -10, -20 °C (Kollmeyer 2018), whose slope in
// 1/T doubles on the way. Holds from -20 to 45 °C.
type Thermal struct {
	Ohmic       float64 // share, 0..1
	ActivationK float64 // activation energy over the gas constant, K
}

// PriorThermal fits the figures above within 9 %.
var PriorThermal = Thermal{Ohmic: .56, ActivationK: 4000}

// Factor returns R(T)/R(25 °C) at a pack temperature in °C. Beyond -30 and
// 60 °C it stays as there.
func (t Thermal) Factor(tempC float64) float64 {
	return t.With(t.Activated(tempC))
}

// With is Factor where the activated part is known.
func (t Thermal) With(activated float64) float64 {
	return t.Ohmic + float64((1-t.Ohmic)*activated)
}

// Activated is what a temperature makes of the activated part, over 25 °C.
func (t Thermal) Activated(tempC float64) float64 {
	k := min(max(tempC, -30), 60) + zeroC
	return math.Exp(t.ActivationK * (1/k - 1/(ReferenceResistanceC+zeroC)))
}

// lowChargeWidth is the charge level over which resistance falls to its
// mid-charge value: the given 30Q cells (ARTS-Lab 2025) have 1.8, 1.4, 1.2,
// 1.12 and 1.0 times the mid-charge value at 1, 6, 12, 17 and 27 %.
const lowChargeWidth = .07

// PriorSteepness is the extra resistance at 0 % over that at mid charge, as a
// share, in the same data.
const PriorSteepness = 1.0

// LowCharge returns the resistance at charge level s over that at mid charge:
// 1 + steepness·exp(-s/0.07).
func LowCharge(s, steepness float64) float64 {
	return 1 + steepness*math.Exp(-s/lowChargeWidth)
}

// OffMidSpread is how far a pulse at other levels than mid charge lies from one
// there, as the standard deviation of its logarithm: the given 30Q cells
// (ARTS-Lab 2025) have 0.98, 0.97, 1.03, 1.03, 1.035 and 1.0 times the
// mid-charge value at 95, 90, 80, 70, 65 and 40 %, and each cell its own ripple.
const OffMidSpread = .05

// OffMid is the share, 0 to 1, of that difference which a pulse at charge level
// s shows: none at mid charge, nearly all from a quarter off it (from memory).
func OffMid(s float64) float64 {
	d := (s - .5) / .15
	return 1 - math.Exp(-d*d)
}

var lowChargeAt = func() (t [CurvePoints]float64) {
	for i := range t {
		t[i] = math.Exp(-float64(i) * CurveStep / lowChargeWidth)
	}
	return t
}()

// MeanLowCharge returns the mean of LowCharge between charge levels a and b,
// with exp(-s/0.07) read off a table in steps of CurveStep (0.1 % off at most).
func MeanLowCharge(a, b, steepness float64) float64 {
	if math.Abs(a-b) < 1e-6 {
		return LowCharge(a, steepness)
	}
	return 1 + steepness*lowChargeWidth*(lowCharge(b)-lowCharge(a))/(a-b)
}

func lowCharge(s float64) float64 {
	i, w := cellOf(s)
	return lowChargeAt[i] + float64(w*(lowChargeAt[i+1]-lowChargeAt[i]))
}

// TwoLevelOhm returns the direct-current resistance from two levels of
// discharge current, (U1 - U2)/(I2 - I1), by IEC 61960-3. It is NaN where the
// currents are equal.
func TwoLevelOhm(u1V, i1A, u2V, i2A float64) float64 {
	if i1A == i2A {
		return math.NaN()
	}
	return (u1V - u2V) / (i2A - i1A)
}
