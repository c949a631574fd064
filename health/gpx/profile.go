package gpx

import (
	"math"
	"slices"
)

// profile gathers elevations along the way in bins, and adds up climb and
// descent chunk by chunk in bounded memory (climb.go tells how).
type profile struct {
	bins  []bin
	open  bin
	fine  turner // counts what turns by the noise's own threshold
	rough turner // counts only what turns by twice as much
	seen  int
}

// bin is the mean of some neighbouring elevations. A rider at rest fills one.
type bin struct {
	metres  float64 // along the way
	heightM float64
	n       float64
	startM  float64
}

const (
	binM     = 10.0    // length of a bin
	mostBins = 8 << 10 // of one chunk: 80 km at least
)

// see notes the elevation of a point, if it has one, after so many metres.
func (p *profile) see(metres float64, f *fix) {
	if f.has&hasEle == 0 {
		return
	}
	p.seen++
	if p.open.n > 0 && metres-p.open.startM >= binM {
		p.close()
	}
	if p.open.n == 0 {
		p.open.startM = metres
	}
	p.open.n++
	p.open.metres += (metres - p.open.metres) / p.open.n
	p.open.heightM += (float64(f.eleMm)/1000 - p.open.heightM) / p.open.n
}

func (p *profile) close() {
	if p.open.n > 0 {
		p.bins = append(p.bins, p.open)
	}
	p.open = bin{}
	if len(p.bins) == mostBins {
		p.flush()
	}
}

// cut says that what follows does not go on from here.
func (p *profile) cut() {
	p.close()
	p.flush()
	p.fine.end()
	p.rough.end()
}

// flush adds up the chunk.
func (p *profile) flush() {
	bins := withoutFreaks(p.bins)
	for len(bins) > 0 {
		n := 1
		for n < len(bins) && !cliff(bins[n-1], bins[n]) {
			n++
		}
		h, threshold := smoothProfile(bins[:n])
		for _, v := range h {
			p.fine.take(v, threshold)
			p.rough.take(v, 2*threshold)
		}
		if bins = bins[n:]; len(bins) > 0 {
			p.fine.end()
			p.rough.end()
		}
	}
	p.bins = p.bins[:0]
}

// What no road does: a receiver that finds another height does it.
const (
	freakM     = 15.0 // off the median of the bins around, on top of what a steep road gives
	cliffM     = 15.0
	steepShare = 0.5
)

func cliff(a, b bin) bool {
	return math.Abs(b.heightM-a.heightM) > cliffM+steepShare*(b.metres-a.metres)
}

// withoutFreaks drops bins far off the median of the five around each.
func withoutFreaks(bins []bin) []bin {
	if len(bins) < 5 {
		return bins
	}
	out := make([]bin, 0, len(bins))
	for i, b := range bins {
		first := min(max(i-2, 0), len(bins)-5)
		window := bins[first : first+5]
		var h [5]float64
		for j, w := range window {
			h[j] = w.heightM
		}
		slices.Sort(h[:])
		if math.Abs(b.heightM-h[2]) <= freakM+steepShare*(window[4].metres-window[0].metres) {
			out = append(out, b)
		}
	}
	return out
}

// turner adds up the ups and downs of a profile between its turning points,
// where a turn counts once the profile has come back by the threshold.
type turner struct {
	climbM, descentM float64

	way         int     // +1 up, -1 down, 0 not known yet
	pivot       float64 // where the way began
	low, high   float64 // reached since
	haveReading bool
}

// take follows the profile to the height h.
func (t *turner) take(h, threshold float64) {
	if !t.haveReading {
		t.low, t.high, t.haveReading = h, h, true
		return
	}
	t.low, t.high = min(t.low, h), max(t.high, h)
	switch {
	case t.way >= 0 && t.high-h >= threshold:
		if t.way > 0 {
			t.climbM += t.high - t.pivot
		}
		t.way, t.pivot, t.low = -1, t.high, h
	case t.way <= 0 && h-t.low >= threshold:
		if t.way < 0 {
			t.descentM += t.pivot - t.low
		}
		t.way, t.pivot, t.high = +1, t.low, h
	}
}

// end counts the last way and forgets where it was.
func (t *turner) end() {
	switch t.way {
	case +1:
		t.climbM += t.high - t.pivot
	case -1:
		t.descentM += t.pivot - t.low
	}
	*t = turner{climbM: t.climbM, descentM: t.descentM}
}
