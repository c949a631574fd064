package trace

// SegmentKind is what went on in a segment.
type SegmentKind uint8

// The kinds of segments.
const (
	Rest SegmentKind = iota
	Charging
	Riding // or a discharge on the bench
)

// String returns "rest", "charge" or "ride".
func (k SegmentKind) String() string { return [...]string{"rest", "charge", "ride"}[k] }

// segmenter makes segments of stretches. What may still turn out to belong to
// the segment under way, or to the next one, waits in tail: a pause, braking
// that feeds back, the plug of a charger.
type segmenter struct {
	sign   Sign
	fullAs float64 // the pack's rated charge, 0 where unknown
	small  float64 // A: less is no ride where it is short
	kind   SegmentKind
	cur    span
	begun  bool
	apart  bool
	tail   []span
	out    *pieces
}

// What makes a segment.
const (
	endPauseS      = 600.0 // idle so long, a ride or charge is over
	blipS          = 60.0  // idle so long behind a short current, it was nothing
	rideS          = 30.0  // discharging so long is a ride
	rideShare      = 0.01  // of the pack: so is discharging so much
	chargeS        = 180.0 // feeding in so long without drawing is charging,
	chargeShare    = 0.6   // if it goes on for so much of the time,
	steadyChargeS  = 45.0  // sooner where it is steady
	steadyChargeI  = 0.1   // to this part of it;
	chargeMovingS  = 0.1   // but not on the move for more than this part
	turnS          = 60.0  // drawing so long in a charge is a ride,
	turnShare      = 0.005 // or so much of the pack
	noiseS         = 10.0  // a current so short, if it is small, is noise
	mostTail       = 256
	wholeAsUnknown = 1e300
)

func (g *segmenter) direction(s *span) int { return int(s.class) * int(g.sign) }

func (g *segmenter) share(of float64) float64 {
	if g.fullAs <= 0 {
		return wholeAsUnknown
	}
	return of * g.fullAs
}

// stretch takes the next stretch.
func (g *segmenter) stretch(s *span) {
	if s.apart {
		g.settle()
		g.emit()
		g.kind, g.apart = Rest, true
	}
	if g.isBlip(s) {
		noise := *s
		noise.class = 0
		s = &noise
	}
	d := g.direction(s)
	own := 0
	switch g.kind {
	case Charging:
		own = 1
	case Riding:
		own = -1
	}
	if d == own && (own != 0 || len(g.tail) == 0) {
		g.fold(len(g.tail))
		g.join(s)
		return
	}
	g.push(s)
	switch {
	case d == 0 && g.kind == Rest:
		if g.idleTail() >= blipS {
			g.fold(len(g.tail))
		}
	case d == 0:
		if g.idleTail() >= endPauseS {
			g.settle()
		}
	case g.kind == Riding:
		if at, ok := g.chargeFrom(); ok {
			g.turn(Charging, at)
		}
	case g.kind == Charging:
		if at, ok := g.drawFrom(turnS, turnShare); ok {
			g.turn(Riding, at)
		}
	default:
		if _, ok := g.drawFrom(rideS, rideShare); ok {
			g.turn(Riding, g.firstActive())
		} else if at, ok := g.chargeFrom(); ok {
			g.turn(Charging, at)
		}
	}
	if len(g.tail) > mostTail {
		g.fold(len(g.tail))
	}
}

// isBlip reports whether a stretch is so short and its current so small that
// it is the noise of the sensor or the light: it counts as idle.
func (g *segmenter) isBlip(s *span) bool {
	return s.class != 0 && s.seconds() < noiseS && s.minI > -g.small && s.maxI < g.small
}

func (g *segmenter) push(s *span) {
	if n := len(g.tail); n > 0 && g.tail[n-1].class == s.class {
		g.tail[n-1].join(s)
		return
	}
	g.tail = append(g.tail, *s)
}

func (g *segmenter) join(s *span) {
	if !g.begun {
		g.cur, g.begun = *s, true
		return
	}
	g.cur.join(s)
}

// fold puts the first n of the tail into the segment under way.
func (g *segmenter) fold(n int) {
	for k := range n {
		g.join(&g.tail[k])
	}
	g.tail = append(g.tail[:0], g.tail[n:]...)
}

// idleTail is how long it has been idle at the end of the tail.
func (g *segmenter) idleTail() float64 {
	if n := len(g.tail); n > 0 && g.tail[n-1].class == 0 {
		return g.tail[n-1].seconds()
	}
	return 0
}

func (g *segmenter) firstActive() int {
	for k := range g.tail {
		if g.tail[k].class != 0 {
			return k
		}
	}
	return len(g.tail)
}

// drawFrom reports whether the tail draws long or much enough to be a ride, and
// from where. What noise draws it feeds back as often.
func (g *segmenter) drawFrom(seconds, share float64) (at int, ok bool) {
	at = -1
	s, as, most := 0.0, 0.0, 0.0
	for k := range g.tail {
		if g.direction(&g.tail[k]) >= 0 {
			if at >= 0 {
				as -= g.tail[k].net(g.sign)
			}
			continue
		}
		if at < 0 {
			at = k
		}
		s += g.tail[k].seconds()
		as -= g.tail[k].net(g.sign)
		most = max(most, as)
	}
	return at, at >= 0 && (s >= seconds && as >= most/2 || as >= g.share(share))
}

// chargeFrom reports whether the end of the tail is charging, and from where:
// the last stretch alone where it is long or steady, else all of the tail from
// the first that feeds in.
func (g *segmenter) chargeFrom() (at int, ok bool) {
	last := len(g.tail) - 1
	p := &g.tail[last]
	if g.direction(p) <= 0 {
		return 0, false
	}
	moving := p.way.movingS > chargeMovingS*p.seconds()
	mean := (p.minI + p.maxI) / 2
	if mean < 0 {
		mean = -mean
	}
	steady := p.maxI-p.minI <= steadyChargeI*mean
	if !moving && (p.seconds() >= chargeS || steady && p.seconds() >= steadyChargeS) {
		return last, true
	}
	first, fed, travelled := -1, 0.0, 0.0
	for k := range g.tail {
		switch d := g.direction(&g.tail[k]); {
		case d < 0:
			first, fed, travelled = -1, 0, 0
		case d > 0:
			if first < 0 {
				first = k
			}
			fed += g.tail[k].seconds()
		}
		if first >= 0 {
			travelled += g.tail[k].way.movingS
		}
	}
	whole := p.t1 - g.tail[first].t0
	return first, fed >= chargeS && fed >= chargeShare*whole && travelled <= chargeMovingS*whole
}

// settle ends the segment under way where it was last active: the idle time
// behind it is a rest.
func (g *segmenter) settle() {
	if g.kind == Rest {
		g.fold(len(g.tail))
		return
	}
	n := len(g.tail)
	for n > 0 && g.tail[n-1].class == 0 {
		n--
	}
	g.fold(n)
	g.emit()
	g.kind = Rest
	g.fold(len(g.tail))
}

// turn begins a segment of another kind at tail[at].
func (g *segmenter) turn(kind SegmentKind, at int) {
	active := 0 // what still belongs to the segment under way
	for k := range at {
		if g.tail[k].class != 0 {
			active = k + 1
		}
	}
	if g.kind == Rest {
		active = at
	}
	g.fold(active)
	g.emit()
	if rest := at - active; rest > 0 {
		g.kind = Rest
		g.fold(rest)
		g.emit()
	}
	g.kind = kind
	g.fold(len(g.tail))
}

// emit ends the segment under way.
func (g *segmenter) emit() {
	if g.begun {
		g.out.add(g.kind, &g.cur, g.apart)
		g.apart = false
	}
	g.begun = false
}

func (g *segmenter) finish() {
	g.settle()
	g.emit()
}
