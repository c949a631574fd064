package gpx

// fix is one point of a track as it was read.
type fix struct {
	lat, lon int64 // degrees times 1e9 (0.1 mm)
	timeMs   int64 // since the Unix epoch, where has&hasTime
	eleMm    int32 // metres times 1000, where has&hasEle
	speedMms int32 // metres a second times 1000, where has&hasSpeed
	segment  int32 // counted through the file
	line     int32 // in the file, counted from 1
	has      uint8
}

const (
	hasTime uint8 = 1 << iota
	hasEle
	hasSpeed
)

func (f *fix) at() vec { return onEllipsoid(float64(f.lat)*1e-9, float64(f.lon)*1e-9) }

// speed returns the speed that the point carries, m/s.
func (f *fix) speed() float64 { return float64(f.speedMms) / 1000 }

// speedBetween returns the mean of the speeds that two points carry.
func speedBetween(a, b *fix) (v float64, ok bool) {
	return 0.5 * (a.speed() + b.speed()), a.has&b.has&hasSpeed != 0
}
