package web

import (
	"math"
	"strconv"

	"packwane/health/report"
	"packwane/health/units"
)

// ruler shows ranges as stretches of one road: a bar that is solid up to the low
// bound and open from there to the high one, a post at the middle, a flag at
// what is needed. It repeats what the text beside it says, for the eye.
type ruler struct {
	Wide, High float64 // of the drawing
	Marks      []rulerMark
	Bars       []rulerBar
	Need       *rulerMark
}

type rulerMark struct {
	X    float64
	Text string
}

type rulerBar struct {
	Low, High, Middle, Y, Thick float64
	Later                       bool // it lies ahead
}

// The measures of the drawing.
const (
	rulerWide  = 320.
	rulerEdge  = 10.
	rulerNow   = 14.
	rulerLater = 8.
)

// road is the scale that the rulers of one page share.
type road struct {
	longest float64 // in the rider's unit
	sys     units.System
}

// roadFor makes a road that holds all of the estimates, and what is needed.
func roadFor(sys units.System, km ...float64) road {
	r := road{sys: sys}
	for _, v := range km {
		x, _ := units.In(v, units.Km, sys)
		r.longest = max(r.longest, x)
	}
	return r
}

// step is the way between two marks of the road: 1, 2 or 5 times a power of
// ten, such that there are four to eight of them.
func (r road) step() float64 {
	p := math.Pow(10, math.Floor(math.Log10(r.longest)))
	for _, s := range []float64{p / 5, p / 2, p} {
		if r.longest/s <= 8 {
			return s
		}
	}
	return 2 * p
}

func (r road) end() float64 { return math.Ceil(r.longest/r.step()) * r.step() }

func (r road) at(v float64) float64 {
	return math.Round(10*(rulerEdge+v/r.end()*(rulerWide-2*rulerEdge))) / 10
}

// ruler draws the range now and later; either may be nil. It is nil where
// there is nothing to show.
func (r road) ruler(needKm float64, now, later *report.Estimate) *ruler {
	if !(r.longest > 0) || now == nil && later == nil {
		return nil
	}
	out := &ruler{Wide: rulerWide}
	y := 3.
	for i, e := range []*report.Estimate{now, later} {
		if e == nil {
			continue
		}
		in := func(km float64) float64 {
			x, _ := units.In(km, units.Km, r.sys)
			return r.at(min(max(x, 0), r.end()))
		}
		low, high := e.Bounds()
		b := rulerBar{Low: in(low), High: in(high), Middle: in(e.Value), Y: y, Thick: rulerNow, Later: i == 1}
		if b.Later {
			b.Thick = rulerLater
		}
		out.Bars = append(out.Bars, b)
		y += b.Thick + 4
	}
	out.High = y + 17
	_, symbol := units.In(0, units.Km, r.sys)
	for i := 0; float64(i)*r.step() <= r.end(); i++ {
		v := float64(i) * r.step()
		text := strconv.FormatFloat(v, 'f', -1, 64)
		if v == 0 {
			text += " " + symbol
		}
		out.Marks = append(out.Marks, rulerMark{r.at(v), text})
	}
	if needKm > 0 {
		x, _ := units.In(needKm, units.Km, r.sys)
		out.Need = &rulerMark{X: r.at(min(x, r.end()))}
	}
	return out
}

// Foot is where the road lies in the drawing.
func (r *ruler) Foot() float64 { return r.High - 14 }

// Sure is the length of the solid part of a bar, Open that of the rest.
func (b rulerBar) Sure() float64 { return math.Round(10*max(b.Low-rulerEdge, 0)) / 10 }
func (b rulerBar) Open() float64 { return math.Round(10*max(b.High-b.Low, 1)) / 10 }

// Legend says what the bars are.
func (r *ruler) Legend() string {
	text := "Solid up to the low bound, open to the high one."
	if len(r.Bars) > 1 {
		text = "Upper bar: now; lower: in a year. " + text
	}
	if r.Need != nil {
		text += " Flag: what you need."
	}
	return text
}
