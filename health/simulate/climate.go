package simulate

import (
	"math"
	"math/rand/v2"
)

// day is the weather of one day.
type day struct {
	meanC   float64
	windKmh float64 // at the station
	fromDeg float64
	seaHpa  float64
	wet     float64 // factor on rolling resistance
}

// weather is drawn day after day from its own seed.
type weather struct {
	c       *Climate
	rng     *rand.Rand
	yearday float64 // of the first day
	days    []day
	temp    float64 // noise that lasts from day to day
	wind    float64
	veer    float64
	press   float64
}

func newWeather(c *Climate, yearday int) *weather {
	return &weather{c: c, rng: rand.New(rand.NewPCG(c.Seed, 0x776561746865)), yearday: float64(yearday)}
}

// day returns the weather of the n-th day of the log.
func (w *weather) day(n int) day {
	for len(w.days) <= n {
		w.draw()
	}
	return w.days[n]
}

func (w *weather) draw() {
	next := func(x, keep float64) float64 { return keep*x + math.Sqrt(1-keep*keep)*w.rng.NormFloat64() }
	w.temp, w.wind, w.veer, w.press = next(w.temp, 0.78), next(w.wind, 0.5), next(w.veer, 0.6), next(w.press, 0.7)
	n := float64(len(w.days))
	d := day{
		meanC:   w.c.MeanC - w.c.SeasonC*math.Cos(2*math.Pi*(w.yearday+n-20)/365.25) + w.c.NoiseC*w.temp,
		windKmh: w.c.WindKmh * math.Exp(0.45*w.wind),
		fromDeg: math.Mod(w.c.FromDeg+60*w.veer+720, 360),
		seaHpa:  1013.25 + 8*w.press,
		wet:     1 + 0.02*math.Abs(w.rng.NormFloat64()),
	}
	if w.rng.Float64() < 0.12 {
		d.wet += 0.03 + 0.04*w.rng.Float64()
	}
	w.days = append(w.days, d)
}

// airC returns the temperature at an hour of the log.
func (w *weather) airC(hour float64) float64 {
	n := int(hour / 24)
	a, b := w.day(n), w.day(n+1)
	f := hour/24 - float64(n)
	return a.meanC + f*(b.meanC-a.meanC) - w.c.DayC*math.Cos(2*math.Pi*(hour-3)/24)
}
