package gpx

// path is the way in few points, evenly spaced: enough to tell its shape. When
// it grows too long, every other point goes and the spacing doubles.
type path struct {
	at     []vec
	breaks []bool // at[i] does not go on from at[i-1]
	everyM float64
	nextM  float64
	broken bool
}

const (
	mostPath   = 1024
	firstEvery = 4.0 // m
)

// start notes where a stretch begins.
func (p *path) start(at vec) {
	if p.everyM == 0 {
		p.everyM = firstEvery
	}
	if len(p.at) == 0 || p.broken {
		p.put(at)
	}
}

// add takes the place reached after so many metres in all.
func (p *path) add(at vec, metres float64) {
	if metres >= p.nextM {
		p.put(at)
		p.nextM = metres + p.everyM
	}
}

func (p *path) put(at vec) {
	if len(p.at) == mostPath {
		p.thin()
	}
	p.at = append(p.at, at)
	p.breaks = append(p.breaks, p.broken)
	p.broken = false
}

func (p *path) thin() {
	n := 0
	for i := 0; i < len(p.at); i += 2 {
		p.at[n], p.breaks[n] = p.at[i], p.breaks[i] || i > 0 && p.breaks[i-1]
		n++
	}
	p.at, p.breaks = p.at[:n], p.breaks[:n]
	p.everyM *= 2
}

// cut says that what follows does not go on from here.
func (p *path) cut() { p.broken = true }
