package charts

// Thinner takes the rows of one channel of a long file, one after the other, and keeps a bounded number of them such
// that a picture looks as if all were there: of each of at most 2·Buckets equal stretches of X it keeps the first
// row, the lowest, the highest and the last. The stretches widen as the file goes on. Memory does not grow with the
// file. The zero value is ready for use; a Thinner must not be used by two goroutines at once.
type Thinner struct {
	// Buckets is the least number of stretches that a long file is kept in; 0 means 2000, which is enough for any screen.
	Buckets int
	// GapX parts the line where two rows are farther apart than this; 0 never parts it. A gap within one stretch is
	// too short to be seen and is dropped.
	GapX float64

	origin, width, lastX float64
	rows                 int64
	broken               bool
	kept                 []bucket
}

// bucket is what is kept of one stretch: the first row, the lowest, the highest and the last, each with its number in
// the file.
type bucket struct {
	index int64
	row   [4]XY
	at    [4]int64
}

// Add takes the next row. One that is not finite, or beyond 1e12, parts the line. X should not decrease; where it
// does, the line is parted and goes on.
func (t *Thinner) Add(x, y float64) {
	if !finite(x) || !finite(y) {
		t.broken = t.rows > 0
		return
	}
	if t.rows == 0 {
		t.origin = x
	} else if t.GapX > 0 && x-t.lastX > t.GapX || x < t.lastX {
		t.broken = true
	}
	p := XY{X: x, Y: y, Break: t.broken}
	t.broken, t.lastX = false, x
	if n := len(t.kept); n > 0 && t.width > 0 {
		if b := &t.kept[n-1]; b.index == t.index(x) {
			b.add(p, t.rows)
			t.rows++
			return
		}
	}
	b := bucket{t.index(x), [4]XY{p, p, p, p}, [4]int64{t.rows, t.rows, t.rows, t.rows}}
	t.rows++
	t.push(b)
	for len(t.kept) > 2*t.least() {
		t.widen()
	}
}

// push joins b to the last bucket if it is of the same stretch, and else keeps it beside.
func (t *Thinner) push(b bucket) {
	if n := len(t.kept); n > 0 && t.width > 0 && t.kept[n-1].index == b.index {
		t.kept[n-1].join(b)
		return
	}
	t.kept = append(t.kept, b)
}

func (t *Thinner) least() int {
	if t.Buckets <= 0 {
		return 2000
	}
	return t.Buckets
}

// index gives the stretch that x lies in, counted from the first row: nothing can stay apart once the stretches are
// as wide as the file.
func (t *Thinner) index(x float64) int64 {
	if t.width == 0 {
		return 0
	}
	return int64((x - t.origin) / t.width)
}

// widen doubles the stretches; the first time it chooses them such that the rows so far fill the least number. While
// the width is zero each row stands alone.
func (t *Thinner) widen() {
	if t.width == 0 {
		var r reach
		for _, b := range t.kept {
			r.add(b.row[0].X)
		}
		t.width = max((r.high-r.low)/float64(t.least()), 1e-6)
	} else {
		t.width *= 2
	}
	all := t.kept
	t.kept = t.kept[:0]
	for _, b := range all {
		b.index = t.index(b.row[0].X)
		t.push(b)
	}
}

// add takes one more row.
func (b *bucket) add(p XY, at int64) {
	if p.Y < b.row[1].Y {
		b.row[1], b.at[1] = p, at
	}
	if p.Y > b.row[2].Y {
		b.row[2], b.at[2] = p, at
	}
	b.row[3], b.at[3] = p, at
}

// join adds the rows of a later bucket.
func (b *bucket) join(later bucket) {
	if later.row[1].Y < b.row[1].Y {
		b.row[1], b.at[1] = later.row[1], later.at[1]
	}
	if later.row[2].Y > b.row[2].Y {
		b.row[2], b.at[2] = later.row[2], later.at[2]
	}
	b.row[3], b.at[3] = later.row[3], later.at[3]
}

// Points gives the rows that were kept, in their order: at most eight times Buckets.
func (t *Thinner) Points() []XY {
	out := make([]XY, 0, 4*len(t.kept))
	for _, b := range t.kept {
		lower, higher := 1, 2
		if b.at[lower] > b.at[higher] {
			lower, higher = higher, lower
		}
		last := int64(-1)
		for _, k := range [4]int{0, lower, higher, 3} {
			if b.at[k] == last {
				continue
			}
			p := b.row[k]
			p.Break = p.Break && k == 0
			out, last = append(out, p), b.at[k]
		}
	}
	return out
}

// Rows gives the number of rows taken so far.
func (t *Thinner) Rows() int64 { return t.rows }
