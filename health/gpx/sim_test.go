package gpx

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"time"
)

// Invented tracks with known truth. A rider goes along a polyline with rounded
// corners, stops where told, and a receiver with a noise of its own writes
// points. All places and figures are invented.

// invented describes a track to make.
type invented struct {
	seed                     uint64
	corners                  [][2]float64 // of the way, metres east and north
	radiusM                  float64      // of the rounded corners
	laps                     int
	speedMs                  float64
	rampMs2                  float64         // braking and accelerating at stops
	swingMs                  float64         // the speed swings by so much either way
	swingS                   float64         // with this period
	stops                    map[int]float64 // at the corner of this number (counted through the laps): seconds
	everyS                   float64
	whiteM                   float64 // noise of each coordinate, white
	wanderM                  float64 // noise with memory
	wanderS                  float64 // and how long that is
	hill                     func(metres float64) float64
	hillWhite                float64
	hillWanderM, hillWanderS float64
	noEle                    bool
}

// truth is what was ridden.
type truth struct {
	metres, movingS, stoppedS, climb, descent, sdKmh float64
}

const (
	homeLat, homeLon = 46.25, 7.75
	simStepS         = 0.05
)

var simStart = time.Date(2026, 4, 11, 9, 0, 0, 0, time.UTC)

// make rides the way and returns what the receiver wrote.
func (v invented) make() (points []fix, want truth) {
	rng := rand.New(rand.NewPCG(v.seed, 7))
	line, at := v.line()
	var wanderE, wanderN, wanderH float64
	keepH := 0.0
	if v.hillWanderS > 0 {
		keepH = math.Exp(-simStepS / v.hillWanderS)
	}
	keep := 0.0
	if v.wanderS > 0 {
		keep = math.Exp(-simStepS / v.wanderS)
	}
	t, s, speed, nextPoint := 0.0, 0.0, 0.0, 0.0
	stop := 0
	var sum, sum2, n float64
	write := func(e, n, h float64) {
		e += v.whiteM*rng.NormFloat64() + wanderE
		n += v.whiteM*rng.NormFloat64() + wanderN
		h += v.hillWhite*rng.NormFloat64() + wanderH
		f := fixAt(e, n, t)
		if !v.noEle {
			f.eleMm, f.has = int32(math.Round(h*1000)), f.has|hasEle
		}
		points = append(points, f)
	}
	tick := func() {
		wanderE = keep*wanderE + v.wanderM*math.Sqrt(1-keep*keep)*rng.NormFloat64()
		wanderN = keep*wanderN + v.wanderM*math.Sqrt(1-keep*keep)*rng.NormFloat64()
		wanderH = keepH*wanderH + v.hillWanderM*math.Sqrt(1-keepH*keepH)*rng.NormFloat64()
		e, n := line.at(s)
		if t >= nextPoint-1e-9 {
			write(e, n, v.height(s))
			nextPoint += v.everyS
		}
		t += simStepS
	}
	for s < line.length()-1e-6 {
		for ; stop < len(at) && at[stop].metres <= s+1e-6; stop++ {
			for wait := at[stop].seconds; wait > 1e-9; wait -= simStepS {
				want.stoppedS += simStepS
				speed = 0
				tick()
			}
		}
		goal := v.speedMs
		if v.swingS > 0 {
			goal += v.swingMs * math.Sin(2*math.Pi*t/v.swingS)
		}
		next := line.length()
		if stop < len(at) {
			next = at[stop].metres
		}
		if v.rampMs2 > 0 {
			goal = min(goal, speed+v.rampMs2*simStepS, math.Sqrt(2*v.rampMs2*max(next-s, 0))+0.05)
			if stop == len(at) {
				goal = max(goal, 0.5)
			}
		}
		speed = goal
		was := s
		s = min(s+speed*simStepS, next)
		if s == was {
			s += 1e-6
		}
		want.movingS += simStepS
		v1 := (s - was) / simStepS
		sum += v1
		sum2 += v1 * v1
		n++
		tick()
	}
	for p := range 20 * int(line.length()) {
		a, b := float64(p)/20, float64(p+1)/20
		d := v.height(b) - v.height(a)
		want.climb += max(d, 0)
		want.descent += max(-d, 0)
	}
	want.metres = line.length()
	want.sdKmh = 3.6 * math.Sqrt(sum2/n-sum*sum/n/n)
	return points, want
}

func (v invented) height(s float64) float64 {
	if v.hill == nil {
		return 500
	}
	return 500 + v.hill(s)
}

// fixAt is the place so many metres east and north of home. The radii of
// curvature are those of its own latitude, to second order.
func fixAt(e, n, t float64) fix {
	rad := math.Pi / 180
	lat := homeLat
	for range 3 {
		mid := 0.5 * (lat + homeLat) * rad
		w := 1 - wgs84E2*math.Sin(mid)*math.Sin(mid)
		lat = homeLat + n/(wgs84A*(1-wgs84E2)/(w*math.Sqrt(w)))/rad
	}
	w := 1 - wgs84E2*math.Sin(lat*rad)*math.Sin(lat*rad)
	lon := homeLon + e/(wgs84A/math.Sqrt(w)*math.Cos(lat*rad))/rad
	return fix{
		lat: int64(math.Round(lat * 1e9)), lon: int64(math.Round(lon * 1e9)),
		timeMs: simStart.UnixMilli() + int64(math.Round(t*1000)), segment: 1, has: hasTime,
	}
}

// polyline is a chain of short chords.
type polyline struct{ e, n, s []float64 }

func (p *polyline) add(e, n float64) {
	if k := len(p.e); k > 0 {
		p.s = append(p.s, p.s[k-1]+math.Hypot(e-p.e[k-1], n-p.n[k-1]))
	} else {
		p.s = append(p.s, 0)
	}
	p.e, p.n = append(p.e, e), append(p.n, n)
}

func (p *polyline) length() float64 { return p.s[len(p.s)-1] }

func (p *polyline) at(s float64) (e, n float64) {
	lo, hi := 0, len(p.s)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; p.s[mid] <= s {
			lo = mid
		} else {
			hi = mid
		}
	}
	k := (s - p.s[lo]) / (p.s[hi] - p.s[lo])
	return p.e[lo] + k*(p.e[hi]-p.e[lo]), p.n[lo] + k*(p.n[hi]-p.n[lo])
}

type stopAt struct{ metres, seconds float64 }

// line rounds the corners and says how far along each stop is.
func (v invented) line() (*polyline, []stopAt) {
	var p polyline
	var at []stopAt
	var all [][2]float64
	for range max(1, v.laps) {
		all = append(all, v.corners...)
	}
	for i, c := range all {
		if i > 0 && i < len(all)-1 && v.radiusM > 0 {
			v.round(&p, all[i-1], c, all[i+1])
		} else if i == 0 || c != all[i-1] {
			p.add(c[0], c[1])
		}
		if s, ok := v.stops[i]; ok {
			at = append(at, stopAt{p.length(), s})
		}
	}
	return &p, at
}

// round goes about the corner b on an arc.
func (v invented) round(p *polyline, a, b, c [2]float64) {
	d1, d2 := math.Atan2(b[1]-a[1], b[0]-a[0]), math.Atan2(c[1]-b[1], c[0]-b[0])
	turn := math.Remainder(d2-d1, 2*math.Pi)
	if math.Abs(turn) < 1e-6 || math.Abs(turn) > 3.1 {
		p.add(b[0], b[1])
		return
	}
	back := v.radiusM * math.Tan(math.Abs(turn)/2)
	e, n := b[0]-back*math.Cos(d1), b[1]-back*math.Sin(d1)
	steps := int(math.Ceil(math.Abs(turn) / 0.02))
	p.add(e, n)
	for k := range steps {
		dir := d1 + turn*(float64(k)+0.5)/float64(steps)
		chord := v.radiusM * math.Abs(turn) / float64(steps)
		e, n = e+chord*math.Cos(dir), n+chord*math.Sin(dir)
		p.add(e, n)
	}
}

// asTrack packs points as if they had been read.
func asTrack(points []fix) *Track {
	t := &Track{}
	for i, f := range points {
		f.line = int32(i + 1)
		t.points.add(f)
	}
	return t
}

// asGPX writes points as a GPX 1.1 document, to the last digit that is kept.
func asGPX(points []fix) string {
	var b strings.Builder
	b.WriteString("<gpx version=\"1.1\" creator=\"invented\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><trkseg>\n")
	segment := int32(-1)
	for i, f := range points {
		if i > 0 && f.segment != segment {
			b.WriteString("</trkseg><trkseg>\n")
		}
		segment = f.segment
		fmt.Fprintf(&b, `<trkpt lat="%.9f" lon="%.9f">`, float64(f.lat)*1e-9, float64(f.lon)*1e-9)
		if f.has&hasEle != 0 {
			fmt.Fprintf(&b, "<ele>%.3f</ele>", float64(f.eleMm)/1000)
		}
		if f.has&hasTime != 0 {
			fmt.Fprintf(&b, "<time>%s</time>", time.UnixMilli(f.timeMs).UTC().Format("2006-01-02T15:04:05.000Z"))
		}
		if f.has&hasSpeed != 0 {
			fmt.Fprintf(&b, "<extensions><speed>%.3f</speed></extensions>", float64(f.speedMms)/1000)
		}
		b.WriteString("</trkpt>\n")
	}
	b.WriteString("</trkseg></trk></gpx>\n")
	return b.String()
}
