package law

import "math"

// ShapeX are the ages, in units of the age at which 20 % of the capacity is
// lost, at which a Shape is tabulated.
var ShapeX = [...]float64{0, .03, .06, .10, .15, .20, .30, .40, .50, .60, .70, .80, .90, 1, 1.1, 1.2, 1.35, 1.5}

// Shape is the way in which one measured cell lost its capacity: the lost
// share at ShapeX, 0 at the start and 0.2 at 1. Real cells lose fast at first,
// slowly for long, and half of them fast again in the end (a knee).
type Shape struct {
	Family    string // cells of one model
	Chemistry string
	Loss      [len(ShapeX)]float64
}

// MaxLoss is the largest share that a shape loses.
const MaxLoss = .97

// LossAt returns the share lost at age x (1 where 20 % is lost) and its
// derivative. Between the tabulated ages it is straight, beyond the last it
// goes on as it did between the last two, and it never passes MaxLoss.
func (s *Shape) LossAt(x float64) (loss, slope float64) {
	if x <= 0 {
		return 0, s.Loss[1] / ShapeX[1]
	}
	i := len(ShapeX) - 2
	for i > 0 && ShapeX[i] > x {
		i--
	}
	slope = (s.Loss[i+1] - s.Loss[i]) / (ShapeX[i+1] - ShapeX[i])
	loss = s.Loss[i] + slope*(x-ShapeX[i])
	if loss > MaxLoss {
		return MaxLoss, 0
	}
	return loss, slope
}

// CalendarLoss returns the share of capacity lost with time alone:
// perYear·years^exponent (Schmalstieg et al. 2014 for NMC with 0.75, Naumann
// et al. 2018 for LFP with 0.5).
func CalendarLoss(perYear, years, exponent float64) float64 {
	if years <= 0 {
		return 0
	}
	return perYear * math.Pow(years, exponent)
}
