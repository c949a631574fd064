package gpx

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// The WGS 84 ellipsoid (NGA.STND.0036, table 3.1).
const (
	wgs84A    = 6378137.0                 // equatorial radius, m
	wgs84F    = 1 / 298.257223563         // flattening
	wgs84B    = wgs84A * (1 - wgs84F)     // polar semi-axis, m
	wgs84E2   = wgs84F * (2 - wgs84F)     // first eccentricity squared
	wgs84Ep2  = wgs84E2 / (1 - wgs84E2)   // second eccentricity squared
	almostNil = 1e-150                    // stands for a zero whose direction still matters
	mostTurns = 200                       // bisection alone is done after 55
	goodAngle = 2.220446049250313e-16 / 2 // half a unit in the last place of 1
)

// Inverse returns the length in metres of the shortest path between two points
// on the WGS 84 ellipsoid, and its azimuths at the first and at the second point
// (degrees clockwise from north, both pointing along the way, -180 to 180).
// Latitudes are degrees from -90 to 90; longitudes are any degrees.
//
// The method is that of C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87
// (2013) 43-55: the azimuth at the first point is the root of the longitude
// difference on the auxiliary sphere. Here the root is kept between bounds, so
// that the search ends everywhere, antipodal points included, and the integrals
// are summed by Gauss-Legendre quadrature rather than as series. Lengths are
// good to some nanometres.
func Inverse(lat1, lon1, lat2, lon2 float64) (metres, azimuth1, azimuth2 float64) {
	c := canonicalPair(lat1, lon1, lat2, lon2)
	a := c.solve()
	azimuth1, azimuth2 = c.azimuths(a)
	return a.lengthM, azimuth1, azimuth2
}

// pair is two points turned, mirrored and swapped so that the first is the
// farther one from the equator, south of it, and the second lies east of the
// first (Karney, section 4): sines and cosines of the reduced latitudes.
type pair struct {
	sin1, cos1, sin2, cos2 float64
	lambda                 float64 // longitude difference, 0 to pi
	opposite               bool    // the longitudes differ by 180 degrees
	west, swapped, flipped bool    // what was done to the points
}

func canonicalPair(lat1, lon1, lat2, lon2 float64) pair {
	var c pair
	d := math.Remainder(lon2-lon1, 360)
	if c.west = d < 0; c.west {
		d = -d
	}
	if c.swapped = math.Abs(lat1) < math.Abs(lat2); c.swapped {
		lat1, lat2 = lat2, lat1
	}
	if c.flipped = lat1 >= 0; c.flipped {
		lat1, lat2 = -lat1, -lat2
	}
	c.lambda, c.opposite = d*math.Pi/180, d == 180
	c.sin1, c.cos1 = reducedLatitude(lat1)
	c.sin2, c.cos2 = reducedLatitude(lat2)
	switch {
	case lat2 == lat1:
		c.sin2, c.cos2 = c.sin1, c.cos1
	case lat2 == -lat1:
		c.sin2, c.cos2 = -c.sin1, c.cos1
	}
	if lat1 == 0 {
		c.sin1, c.sin2 = -almostNil, almostNil
	}
	return c
}

// reducedLatitude gives the sine and cosine of beta, tan beta = (1-f) tan phi
// (Karney, eq. 6). The cosine is never zero.
func reducedLatitude(lat float64) (sin, cos float64) {
	s, c := math.Sincos(lat * math.Pi / 180)
	if math.Abs(lat) == 90 {
		c = 0
	}
	s *= 1 - wgs84F
	r := math.Hypot(s, c)
	return s / r, math.Max(c/r, almostNil)
}

// arc is one geodesic that leaves the first point at some azimuth and ends
// at the latitude of the second point.
type arc struct {
	turn       float64 // azimuth at the first point less a right angle, radians
	sin2, cos2 float64 // of the azimuth at its end
	lambda     float64 // longitude gained, radians
	slope      float64 // change of lambda with turn
	lengthM    float64
	reduced    float64 // m12 over b (Karney, eq. 38)
}

// solve finds the shortest path between the two points.
func (c *pair) solve() arc {
	if c.lambda == 0 {
		return c.arcAt(-math.Pi / 2)
	}
	if c.opposite {
		// Over the pole, unless the path has passed its conjugate point.
		if a := c.arcAt(math.Pi / 2); a.reduced >= 0 {
			return a
		}
	}
	if c.sin1 == -almostNil && c.lambda <= (1-wgs84F)*math.Pi {
		return arc{sin2: 1, lambda: c.lambda, lengthM: wgs84A * c.lambda}
	}
	return c.search()
}

// search finds the azimuth by Newton's method inside a bracket that halves
// whenever Newton's step would leave it or gains too little. It is counted from
// due east: close to the equator nearly antipodal paths start so nearly east
// that only the small difference has the digits.
func (c *pair) search() arc {
	low, high := -math.Pi/2, math.Pi/2
	a := c.arcAt(c.firstGuess())
	for range mostTurns {
		off := a.lambda - c.lambda
		if math.Abs(off) <= goodAngle || high-low <= goodAngle*math.Abs(a.turn) {
			break
		}
		if off > 0 {
			high = a.turn
		} else {
			low = a.turn
		}
		next := a.turn - off/a.slope
		if !(next > low && next < high) || math.Abs(next-a.turn) > 0.5*(high-low) {
			next = low + 0.5*(high-low)
		}
		if next == a.turn || next <= low || next >= high {
			break
		}
		a = c.arcAt(next)
	}
	return a
}

// firstGuess is the azimuth on a sphere that fits the mean latitude (Karney,
// eqs. 48 and 49).
func (c *pair) firstGuess() float64 {
	mean := 0.5 * (c.cos1 + c.cos2)
	omega := c.lambda / math.Sqrt(1-wgs84E2*mean*mean)
	so, co := math.Sincos(math.Min(omega, math.Pi))
	east := c.cos2 * so
	// The second form keeps its digits where the points are close.
	north := c.cos1*c.sin2 - c.sin1*c.cos2*co
	if co > 0 {
		north = (c.sin2*c.cos1 - c.cos2*c.sin1) + c.sin1*c.cos2*so*so/(1+co)
	}
	const edge = math.Pi/2 - 1e-9
	return math.Min(math.Max(math.Atan2(-north, east), -edge), edge)
}

// arcAt follows the geodesic that leaves the first point turned this much from
// due east, radians clockwise.
func (c *pair) arcAt(turn float64) arc {
	c1, s1 := math.Sincos(turn)
	c1 = -c1
	if math.Abs(turn) == math.Pi/2 {
		s1 = 0
	}
	sin0 := s1 * c.cos1 // Clairaut (Karney, eq. 5)
	cos0 := math.Hypot(c1, s1*c.sin1)
	s2, c2 := c.azimuthAtEnd(s1, c1, sin0)
	// Karney, eqs. 11 and 12.
	sigma1, omega1 := math.Atan2(c.sin1, c1*c.cos1), math.Atan2(sin0*c.sin1, c1*c.cos1)
	sigma2, omega2 := math.Atan2(c.sin2, c2*c.cos2), math.Atan2(sin0*c.sin2, c2*c.cos2)
	if c1 < 0 && sin0 == 0 {
		omega1 = -math.Pi
	}
	k2 := wgs84Ep2 * cos0 * cos0 // Karney, eq. 9
	in := integrate(sigma1, sigma2, k2)
	a := arc{turn: turn, sin2: s2, cos2: c2}
	a.lengthM = wgs84B * (sigma2 - sigma1 + in.length)
	a.lambda = omega2 - omega1 - wgs84F*sin0*in.longitude // Karney, eq. 8
	ss1, cs1 := math.Sincos(sigma1)
	ss2, cs2 := math.Sincos(sigma2)
	a.reduced = math.Sqrt(1+k2*ss2*ss2)*cs1*ss2 - math.Sqrt(1+k2*ss1*ss1)*ss1*cs2 - cs1*cs2*in.reduced
	a.slope = a.reduced * (1 - wgs84F) / (c2 * c.cos2) // Karney, eq. 46
	if c2 == 0 {
		a.slope = -2 * math.Sqrt(1-wgs84E2*c.cos1*c.cos1) / c.sin1 // Karney, eq. 47
	}
	return a
}

// azimuthAtEnd gives the sine and cosine of the azimuth where the geodesic
// reaches the second latitude northward (Karney, eq. 45).
func (c *pair) azimuthAtEnd(s1, c1, sin0 float64) (s2, c2 float64) {
	if c.cos2 == c.cos1 {
		return s1, math.Abs(c1)
	}
	diff := (c.sin1 - c.sin2) * (c.sin1 + c.sin2)
	if c.cos1 < -c.sin1 {
		diff = (c.cos2 - c.cos1) * (c.cos1 + c.cos2)
	}
	return sin0 / c.cos2, math.Sqrt(c1*c.cos1*c1*c.cos1+diff) / c.cos2
}

// integrals of Karney's eqs. 7, 8 and 39 from sigma1 to sigma2; length without
// the arc itself.
type integrals struct{ length, longitude, reduced float64 }

func integrate(sigma1, sigma2, k2 float64) integrals {
	half, middle := 0.5*(sigma2-sigma1), 0.5*(sigma1+sigma2)
	var sum integrals
	for i, x := range gaussAt {
		s := math.Sin(middle + half*x)
		k := k2 * s * s
		root := math.Sqrt(1 + k)
		w := gaussWeight[i]
		sum.length += w * k / (1 + root)
		sum.longitude += w * (2 - wgs84F) / (1 + (1-wgs84F)*root)
		sum.reduced += w * k / root
	}
	return integrals{half * sum.length, half * sum.longitude, half * sum.reduced}
}

// The integrands are smooth with k² below 0.0068, so that 16 points leave an
// error far below the last place.
var gaussAt, gaussWeight = func() (x, w [16]float64) {
	quad.Legendre{}.FixedLocations(x[:], w[:], -1, 1)
	return x, w
}()

// azimuths undoes the turns of canonicalPair.
func (c *pair) azimuths(a arc) (azimuth1, azimuth2 float64) {
	one, two := math.Pi/2+a.turn, math.Atan2(a.sin2, a.cos2)
	if c.flipped {
		one, two = math.Pi-one, math.Pi-two
	}
	if c.swapped {
		one, two = math.Pi-two, math.Pi-one
	}
	if c.west {
		one, two = -one, -two
	}
	return one * 180 / math.Pi, two * 180 / math.Pi
}
