package gpx

// follow measures a track without times: the chain of its points, segment by
// segment, but for lone points far off their neighbours. Noise and standing
// cannot be told from riding there.
func follow(m *meter, points *spool) {
	var steps logHistogram
	var last place
	for f := range points.all() {
		p := placeOf(f)
		if last.line > 0 && last.segment == p.segment {
			steps.add(p.at.minus(last.at).length(), 1)
		}
		last = p
	}
	c := chain{meter: m, farM: leastFarM + farSteps*steps.quantile(0.5)}
	for f := range points.all() {
		c.take(placeOf(f))
	}
	c.step()
}

const (
	leastFarM = 50.0
	farSteps  = 10.0
)

// chain holds the last three points, so that the middle one can be judged.
type chain struct {
	meter *meter
	farM  float64
	held  []place
}

func (c *chain) take(p place) {
	if n := len(c.held); n > 0 && c.held[n-1].segment != p.segment {
		c.step()
		c.meter.lose(c.held[n-1], p)
		c.held = c.held[:0]
	}
	if c.held = append(c.held, p); len(c.held) < 3 {
		if len(c.held) == 1 {
			c.meter.profile.see(c.meter.distanceM, &p.fix)
		}
		return
	}
	a, b, d := c.held[0], c.held[1], c.held[2]
	out, in, across := overGround(a.at, b.at), overGround(b.at, d.at), overGround(a.at, d.at)
	if out > c.farM && in > c.farM && across < 0.5*min(out, in) {
		c.meter.spikes.note(int(b.line))
		c.held = append(c.held[:1], d)
		return
	}
	c.step()
	c.held = c.held[1:]
}

// step counts the way from the first point held to the second.
func (c *chain) step() {
	if len(c.held) < 2 {
		return
	}
	a, b := c.held[0], c.held[1]
	c.meter.move(a.at, b.at, overGround(a.at, b.at), 0)
	c.meter.profile.see(c.meter.distanceM, &b.fix)
}
