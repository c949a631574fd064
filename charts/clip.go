package charts

// clipSegment gives the part of the segment p-q that lies in b (Liang and Barsky's parametric test of the four
// edges); ok is false where none does.
func clipSegment(b box, p, q pt) (from, to pt, ok bool) {
	t0, t1 := 0.0, 1.0
	dx, dy := q.x-p.x, q.y-p.y
	for _, e := range [4][2]float64{{-dx, p.x - b.x0}, {dx, b.x1 - p.x}, {-dy, p.y - b.y0}, {dy, b.y1 - p.y}} {
		den, num := e[0], e[1]
		switch {
		case den == 0 && num < 0:
			return p, q, false
		case den < 0:
			t0 = max(t0, num/den)
		case den > 0:
			t1 = min(t1, num/den)
		}
	}
	if t0 > t1 {
		return p, q, false
	}
	at := func(t float64) pt { return b.nearest(pt{p.x + t*dx, p.y + t*dy}) }
	return at(t0), at(t1), true
}

// nearest gives the place in b that is nearest to p: the last word where an end lies so far out that rounding would
// leave it outside.
func (b box) nearest(p pt) pt {
	return pt{min(max(p.x, b.x0), b.x1), min(max(p.y, b.y0), b.y1)}
}

// clipLine gives the pieces of the line through ps that lie in b.
func clipLine(b box, ps []pt) [][]pt {
	var pieces [][]pt
	var piece []pt
	for i := 1; i < len(ps); i++ {
		from, to, ok := clipSegment(b, ps[i-1], ps[i])
		if !ok {
			continue
		}
		if len(piece) == 0 || piece[len(piece)-1] != from {
			if len(piece) > 0 {
				pieces = append(pieces, piece)
			}
			piece = []pt{from}
		}
		piece = append(piece, to)
	}
	if len(piece) > 0 {
		pieces = append(pieces, piece)
	}
	return pieces
}

// clipPolygon gives the part of the polygon ps that lies in b: one edge of b after the other cuts it (Sutherland and
// Hodgman).
func clipPolygon(b box, ps []pt) []pt {
	for edge := range 4 {
		ps = cutPolygon(ps, func(p pt) float64 {
			return [4]float64{p.x - b.x0, b.x1 - p.x, p.y - b.y0, b.y1 - p.y}[edge]
		})
	}
	for i, p := range ps {
		ps[i] = b.nearest(p)
	}
	return ps
}

// cutPolygon keeps the side of the polygon on which inside is not negative; inside is linear in the place.
func cutPolygon(ps []pt, inside func(pt) float64) []pt {
	var out []pt
	for i, q := range ps {
		p := ps[(i+len(ps)-1)%len(ps)]
		dp, dq := inside(p), inside(q)
		if (dp < 0) != (dq < 0) {
			t := dp / (dp - dq)
			out = append(out, pt{p.x + t*(q.x-p.x), p.y + t*(q.y-p.y)})
		}
		if dq >= 0 {
			out = append(out, q)
		}
	}
	return out
}
