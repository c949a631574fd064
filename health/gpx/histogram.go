package gpx

import "math"

// logHistogram counts weights by the logarithm of a positive value, from 1 mm
// to 1000 km in steps of 2 %, so that quantiles need no sorting and no room.
type logHistogram struct {
	weight [1048]float64
	total  float64
}

const (
	logLeast = 1e-3
	logStep  = 0.02
)

// add counts v with this weight; what is below the least counts as the least.
func (h *logHistogram) add(v, weight float64) {
	i := 0
	if v > logLeast {
		i = min(int(math.Log(v/logLeast)/logStep), len(h.weight)-1)
	}
	h.weight[i] += weight
	h.total += weight
}

// quantile returns the value below which the share q of the weight lies, to
// 1 %; 0 where nothing was counted or the quantile is at the least value.
func (h *logHistogram) quantile(q float64) float64 {
	sum := 0.0
	for i, w := range h.weight {
		if sum += w; w > 0 && sum >= q*h.total {
			if i == 0 {
				return 0
			}
			return logLeast * math.Exp((float64(i)+0.5)*logStep)
		}
	}
	return 0
}

// speedHistogram counts seconds by speed in steps of 0.01 km/h, fine enough for
// the share of time within any tolerance.
type speedHistogram struct {
	seconds [40_001]float64 // the last one: 400 km/h and more
}

const speedStepKmh = 0.01

func (h *speedHistogram) add(kmh, seconds float64) {
	i := int(kmh/speedStepKmh + 0.5)
	h.seconds[min(max(i, 0), len(h.seconds)-1)] += seconds
}

// shareWithin returns the share of the time at speeds from low to high km/h,
// both included.
func (h *speedHistogram) shareWithin(low, high float64) float64 {
	total, in := 0.0, 0.0
	for i, s := range h.seconds {
		total += s
		if v := float64(i) * speedStepKmh; v >= low-speedStepKmh/2 && v <= high+speedStepKmh/2 {
			in += s
		}
	}
	if total == 0 {
		return 0
	}
	return in / total
}
