package trace

import "math"

// fit is a running regression of y on x with an intercept.
type fit struct{ n, x, y, xx, xy float64 }

func (f *fit) add(x, y float64) {
	f.n++
	f.x += x
	f.y += y
	f.xx += x * x
	f.xy += x * y
}

// slope returns the least-squares slope; ok needs three points that differ.
func (f fit) slope() (b float64, ok bool) {
	sxx := f.xx - f.x*f.x/f.n
	if f.n < 3 || !(sxx > 1e-12*f.xx) {
		return 0, false
	}
	return (f.xy - f.x*f.y/f.n) / sxx, true
}

// weighted is a mean under weights.
type weighted struct{ sum, weight float64 }

func (w *weighted) add(v, weight float64) {
	if v == v {
		w.sum += v * weight
		w.weight += weight
	}
}

func (w *weighted) join(o weighted) {
	w.sum += o.sum
	w.weight += o.weight
}

// orNaN returns the mean; NaN where nothing was added.
func (w weighted) orNaN() float64 {
	if w.weight > 0 {
		return w.sum / w.weight
	}
	return math.NaN()
}

// motion is what a column of speed or an odometer says of a stretch.
type motion struct {
	seen              bool
	km                sum
	movingS           float64
	speedS, speedSq   float64 // of the moving time: speed x s, speed squared x s
	odoFirst, odoLast float64 // NaN where there is none
}

func (m *motion) join(o motion) {
	m.seen = m.seen || o.seen
	m.km.join(o.km)
	m.movingS += o.movingS
	m.speedS += o.speedS
	m.speedSq += o.speedSq
	if o.odoLast == o.odoLast {
		if m.odoFirst != m.odoFirst {
			m.odoFirst = o.odoFirst
		}
		m.odoLast = o.odoLast
	}
}

// span is what is known of a stretch of rows of one direction of current, and,
// added up, of a segment. Charge has the file's sign until the segment is made.
type span struct {
	class      int8 // of a stretch: the file's sign of current, 0 idle
	apart      bool // time is missing in front: nothing before it goes on here
	t0, t1     float64
	leg0, leg1 float64 // see cursor.leg
	row0, row1 int64   // lines of the file
	rows       int64

	pos, neg, posE, negE sum // As, J

	minV, maxV    float64
	firstV, lastV float64
	lastI         float64
	endV, endI    float64 // means of the last window
	minI, maxI    float64
	late          late
	spacing       spacing
	gapS, gapAs   float64 // seconds without rows, and what a straight line would bring over them
	gaps          int
	temp, air     weighted
	way           motion
	ohms          response   // of the voltage to the current
	power         *powerBins // nil where there is no speed
	groupV        []float64  // last of the stretch
}

func newSpan(class int8, t float64, leg float64, row int64) span {
	nan := math.NaN()
	return span{class: class, t0: t, t1: t, leg0: leg, leg1: leg, row0: row, row1: row,
		minV: math.Inf(1), maxV: math.Inf(-1), minI: math.Inf(1), maxI: math.Inf(-1), late: late{from: t, before: math.Inf(1), now: math.Inf(1)},
		way: motion{odoFirst: nan, odoLast: nan}, firstV: nan}
}

// join puts o behind s.
func (s *span) join(o *span) {
	s.t1, s.leg1, s.row1 = o.t1, o.leg1, o.row1
	s.rows += o.rows
	s.pos.join(o.pos)
	s.neg.join(o.neg)
	s.posE.join(o.posE)
	s.negE.join(o.negE)
	s.minV, s.maxV = min(s.minV, o.minV), max(s.maxV, o.maxV)
	s.minI, s.maxI = min(s.minI, o.minI), max(s.maxI, o.maxI)
	if s.firstV != s.firstV {
		s.firstV = o.firstV
	}
	if o.rows > 0 {
		s.lastV, s.lastI, s.endV, s.endI = o.lastV, o.lastI, o.endV, o.endI
	}
	s.late.join(o.late, o.t0)
	s.spacing.join(o.spacing)
	s.gapS += o.gapS
	s.gapAs += o.gapAs
	s.gaps += o.gaps
	s.temp.join(o.temp)
	s.air.join(o.air)
	s.way.join(o.way)
	s.ohms.join(&o.ohms)
	if o.power != nil {
		if s.power == nil {
			s.power = new(powerBins)
		}
		s.power.join(o.power)
	}
	if o.groupV != nil {
		s.groupV = o.groupV
	}
}

// net is the charge taken in less that given out, in As, under a sign.
func (s *span) net(sign Sign) float64 { return (s.pos.value() - s.neg.value()) * float64(sign) }

func (s *span) seconds() float64 { return s.t1 - s.t0 }

// lateS is how long before its end, at least, a ride is looked at for what
// ended it.
const lateS = 60.0

// late is the lowest voltage of the last one to two lateS of a span.
type late struct {
	from        float64
	before, now float64
}

func (l *late) add(t, v float64) {
	if t-l.from > lateS {
		l.from, l.before, l.now = t, l.now, math.Inf(1)
	}
	l.now = min(l.now, v)
}

func (l *late) join(o late, begin float64) {
	if o.from > begin {
		*l = o
		return
	}
	l.add(begin, o.now)
}

func (l late) lowest() float64 { return min(l.before, l.now) }

// powerBins holds time and energy by speed, powerStepKmh wide each.
type powerBins struct {
	s, j [powerSteps]float64
}

const (
	powerStepKmh = 5.0
	powerSteps   = 24
)

func (p *powerBins) add(kmh, s, j float64) {
	if k := int(kmh / powerStepKmh); kmh >= 0 && k < powerSteps {
		p.s[k] += s
		p.j[k] += j
	}
}

func (p *powerBins) join(o *powerBins) {
	for k := range p.s {
		p.s[k] += o.s[k]
		p.j[k] += o.j[k]
	}
}
