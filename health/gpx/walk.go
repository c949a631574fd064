package gpx

// place is a fix with its position in space and its time in seconds.
type place struct {
	fix
	at vec
	t  float64
}

func placeOf(f fix) place { return place{fix: f, at: f.at(), t: float64(f.timeMs) / 1000} }

// walker follows the points in the order of time. It leaves out jumps, cuts the
// rest into legs of unbroken reception, and hands these and the breaks between
// them to the meter.
type walker struct {
	survey survey
	meter  *meter
	leg    []place
	island []place // points away from the leg, until it shows which of both are wrong
	fresh  bool    // the leg began with a jump or with the track
	jumps  tally   // points left out
}

const (
	maxLeg = 16 << 10 // points; a longer leg is measured in parts

	// Points away from the leg that agree with one another are believed when
	// they are so many, or go on for so long.
	islandPoints  = 8
	islandS       = 30.0
	islandLeast   = 3
	fewLegPoints  = 4 // a leg of fewer, and then a jump: the leg was wrong
	longestPauseS = 6 * 3600.0
	pauseM        = 50.0 // parts of a track that end and begin so near were parted by a pause
)

// walk follows all points.
func (w *walker) walk(points *spool) {
	w.fresh = true
	for f := range points.all() {
		w.take(placeOf(f))
	}
	if w.believed() {
		w.jump()
	}
	w.dropIsland()
	w.flush()
}

func (w *walker) take(p place) {
	switch n := len(w.island); {
	case len(w.leg) == 0 || w.plausible(w.leg[len(w.leg)-1], p):
		w.dropIsland()
		w.accept(p)
	case n > 0 && w.plausible(w.island[n-1], p):
		w.island = append(w.island, p)
		if w.believed() {
			w.jump()
		}
	default:
		w.dropIsland()
		w.island = append(w.island, p)
	}
}

// plausible says whether one can have come from a to b in the time between.
func (w *walker) plausible(a, b place) bool {
	return b.at.minus(a.at).length() <= w.survey.most*(b.t-a.t)+w.survey.slackM
}

func (w *walker) believed() bool {
	n := len(w.island)
	return n >= islandPoints || n >= islandLeast && w.island[n-1].t-w.island[0].t >= islandS
}

func (w *walker) dropIsland() {
	for _, p := range w.island {
		w.jumps.note(int(p.line))
	}
	w.island = w.island[:0]
}

// jump goes on with the island: the track was moved, or began with bad points.
func (w *walker) jump() {
	if w.fresh && len(w.leg) < fewLegPoints {
		for _, p := range w.leg {
			w.jumps.note(int(p.line))
		}
		w.leg = w.leg[:0]
	} else {
		from := w.leg[len(w.leg)-1]
		w.flush()
		w.meter.lose(from, w.island[0])
	}
	w.fresh = true
	for _, p := range w.island {
		w.accept(p)
	}
	w.island = w.island[:0]
}

// accept adds p to the leg, or ends the leg before it.
func (w *walker) accept(p place) {
	n := len(w.leg)
	if n == 0 {
		w.leg = append(w.leg, p)
		return
	}
	last := w.leg[n-1]
	switch dt := p.t - last.t; {
	case dt <= w.survey.longS:
		if n == maxLeg {
			w.flush()
			w.leg = append(w.leg, last)
		}
	case p.segment == last.segment:
		w.flush()
		w.meter.bridge(last, p)
		w.fresh = false
	default:
		w.flush()
		w.meter.part(last, p)
		w.fresh = true
	}
	w.leg = append(w.leg, p)
}

func (w *walker) flush() {
	if len(w.leg) > 0 {
		w.meter.measure(w.leg)
	}
	w.leg = w.leg[:0]
}
