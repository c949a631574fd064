package gpx

// The shape of a way, from few points of it.

const (
	nearHomeShare = 0.05 // of the way: an end that near the start has come home
	nearHomeM     = 150.0
	retraceM      = 40.0 // two carriageways and the noise of both
	retraceShare  = 0.6
	shortestM     = 200.0
)

// shape returns loop, out_back or one_way; "" where the way is too short or too
// broken to say.
func (p *path) shape(metres float64) string {
	n := len(p.at)
	if n < 8 || metres < shortestM {
		return ""
	}
	home := p.at[n-1].minus(p.at[0]).length()
	if home > max(nearHomeM, nearHomeShare*metres) || home > 0.5*metres {
		return "one_way"
	}
	if p.retraced() >= retraceShare {
		return "out_back"
	}
	return "loop"
}

// retraced returns the share of the points that another part of the way passes
// in the opposite direction.
func (p *path) retraced() float64 {
	met, all := 0, 0
	for i := 1; i < len(p.at)-1; i++ {
		if p.breaks[i] || p.breaks[i+1] {
			continue
		}
		all++
		if p.metAt(i) {
			met++
		}
	}
	if all == 0 {
		return 0
	}
	return float64(met) / float64(all)
}

func (p *path) metAt(i int) bool {
	here, way := p.at[i], p.at[i+1].minus(p.at[i-1])
	for j := 1; j < len(p.at); j++ {
		if p.breaks[j] || j == i || j == i+1 {
			continue
		}
		a, b := p.at[j-1], p.at[j]
		leg := b.minus(a)
		if leg.dot(way) > -0.5*leg.length()*way.length() {
			continue
		}
		t := min(max(here.minus(a).dot(leg)/max(leg.dot(leg), 1e-9), 0), 1)
		if here.minus(a.addScaled(leg, t)).length() <= retraceM {
			return true
		}
	}
	return false
}
