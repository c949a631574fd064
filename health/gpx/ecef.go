package gpx

import "math"

// vec is a point or a difference of points in metres, in the Earth-centred
// frame of WGS 84: no seam at 180 degrees of longitude, none at the poles.
type vec struct{ x, y, z float64 }

func (a vec) plus(b vec) vec                 { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) minus(b vec) vec                { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) times(k float64) vec            { return vec{a.x * k, a.y * k, a.z * k} }
func (a vec) dot(b vec) float64              { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) length() float64                { return math.Sqrt(a.dot(a)) }
func (a vec) to(b vec, t float64) vec        { return a.plus(b.minus(a).times(t)) }
func (a vec) addScaled(b vec, k float64) vec { return vec{a.x + b.x*k, a.y + b.y*k, a.z + b.z*k} }

// onEllipsoid returns the point of the ellipsoid at a latitude and longitude in
// degrees (height 0: distances are taken along the ellipsoid).
func onEllipsoid(lat, lon float64) vec {
	sinLat, cosLat := math.Sincos(lat * math.Pi / 180)
	sinLon, cosLon := math.Sincos(lon * math.Pi / 180)
	n := wgs84A / math.Sqrt(1-wgs84E2*sinLat*sinLat) // radius in the prime vertical
	return vec{n * cosLat * cosLon, n * cosLat * sinLon, n * (1 - wgs84E2) * sinLat}
}

// latLon returns the latitude and longitude in degrees of a point on or very
// near the ellipsoid.
func latLon(p vec) (lat, lon float64) {
	lat = math.Atan2(p.z, (1-wgs84E2)*math.Hypot(p.x, p.y)) * 180 / math.Pi
	return lat, math.Atan2(p.y, p.x) * 180 / math.Pi
}

// chordLimitM is how far apart two points may be for overGround to take the
// arc from its chord: there the two differ by less than 20 µm from the geodesic.
const chordLimitM = 10e3

// meanRadius2 is the square of the mean radius of the ellipsoid, (2a+b)/3.
const meanRadius2 = (2*wgs84A + wgs84B) / 3 * (2*wgs84A + wgs84B) / 3

// overGround returns the length in metres of the geodesic between two points on
// the ellipsoid: its chord c and the arc above it, c + c³/24R², when they are
// near; else Inverse.
func overGround(a, b vec) float64 {
	c2 := b.minus(a)
	c := c2.length()
	if c <= chordLimitM {
		return c + c*c*c/(24*meanRadius2)
	}
	lat1, lon1 := latLon(a)
	lat2, lon2 := latLon(b)
	m, _, _ := Inverse(lat1, lon1, lat2, lon2)
	return m
}

// eastNorth returns the east and north components at p of the difference d.
func eastNorth(p, d vec) (east, north float64) {
	up := vec{p.x / (wgs84A * wgs84A), p.y / (wgs84A * wgs84A), p.z / (wgs84B * wgs84B)}
	up = up.times(1 / up.length())
	r := math.Hypot(p.x, p.y)
	if r == 0 {
		return d.y, -d.x * math.Copysign(1, p.z) // at a pole, as on the meridian of 0 degrees
	}
	e := vec{-p.y / r, p.x / r, 0}
	n := vec{up.y*e.z - up.z*e.y, up.z*e.x - up.x*e.z, up.x*e.y - up.y*e.x}
	return d.dot(e), d.dot(n)
}
