package trace

import "bytes"

// fastColumn is where plainRows puts a column.
type fastColumn struct {
	dst   []float64 // nil: passed over
	scale affine
}

// plainRows reads rows as row does, from at on, as long as they hold nothing
// but plain decimal numbers of at most maxExactDigits digits in the columns that
// are read. It returns where it stopped and how many rows it took; the row that
// begins there, if any, has to be read the general way. The last line of a file
// that may be cut is left to that too.
//
// It is fixed and row in one loop: calling them costs as much as reading the
// digits.
func (p *plan) plainRows(text []byte, at int, cut bool, out *batch) (next, rows int) {
	if cut {
		text = text[:bytes.LastIndexByte(text[:len(text)-1], '\n')+1]
	}
	cols := out.fast[:0]
	for _, c := range p.columns {
		f := fastColumn{scale: c.scale}
		if c.action == actNumber {
			f.dst = out.cols(c.slot)
		}
		cols = append(cols, f)
	}
	out.fast = cols
	first := out.rows
	delim, point := p.delim, p.point
	i := at
	for i < len(text) {
		n := out.rows
		for k := range cols {
			col := &cols[k]
			if col.dst == nil {
				for i < len(text) && text[i] != delim && text[i] != '\n' && text[i] != '"' {
					i++
				}
			} else {
				negative := false
				if i < len(text) && text[i] == '-' {
					negative = true
					i++
				}
				begin := i
				var m uint64
				for i < len(text) {
					d := text[i] - '0'
					if d > 9 {
						break
					}
					m = m*10 + uint64(d)
					i++
				}
				digits := i - begin
				decimals := 0
				if i < len(text) && text[i] == point {
					i++
					begin = i
					for i < len(text) {
						d := text[i] - '0'
						if d > 9 {
							break
						}
						m = m*10 + uint64(d)
						i++
					}
					decimals = i - begin
					digits += decimals
				}
				if uint(digits-1) >= maxExactDigits {
					return at, out.rows - first
				}
				v := float64(int64(m))
				if decimals > 0 {
					v /= pow10[decimals&15]
				}
				if negative {
					v = -v
				}
				if !col.scale.plain {
					v = col.scale.to(v)
				}
				col.dst[n] = v
			}
			if k < len(cols)-1 {
				if i >= len(text) || text[i] != delim {
					return at, out.rows - first
				}
				i++
			}
		}
		if i >= len(text) {
			return at, out.rows - first
		}
		switch text[i] {
		case '\n':
			i++
		case '\r', delim:
			i = lineEnd(text, i) + 1
		default:
			return at, out.rows - first
		}
		out.rows++
		at = i
	}
	return at, out.rows - first
}
