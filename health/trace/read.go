package trace

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
)

// reading is one run of Read.
type reading struct {
	opts   Options
	lay    *layout
	cur    *cursor
	signs  *signer
	segs   *segmenter
	sign   Sign
	pieces *pieces
	least  float64 // Ah: less is no record
	cal    *calendar
	res    *Result
}

// opened is a time series whose form is known and whose rows are still to come.
type opened struct {
	src  *source
	lay  *layout
	head []byte
	rows io.Reader // from the first row on
}

// open reads the head of r and decides what its columns are.
func open(r io.Reader, opts Options) (*opened, error) {
	src, err := openSource(r)
	if err != nil {
		return nil, err
	}
	head := make([]byte, headBytes)
	n, err := io.ReadFull(src.r, head)
	whole := err == io.EOF || err == io.ErrUnexpectedEOF
	if err != nil && !whole {
		src.close()
		return nil, err
	}
	head = head[:n]
	lay, err := learnForm(head, whole, opts)
	if err != nil {
		src.close()
		return nil, err
	}
	return &opened{src, lay, head, io.MultiReader(bytes.NewReader(head[lay.offset:]), src.r)}, nil
}

// learnForm finds the table and its columns in the head of a file.
func learnForm(head []byte, whole bool, opts Options) (*layout, error) {
	var none Mapping
	if opts.Kept != none {
		m := opts.Kept.With(opts.Map)
		if t, err := findTable(head, whole, m); err == nil {
			if lay, err := newLayout(t, m, opts.Pack); err == nil {
				return lay, nil
			}
		}
	}
	t, err := findTable(head, whole, opts.Map)
	if err != nil {
		return nil, err
	}
	lay, err := newLayout(t, opts.Map, opts.Pack)
	if err == nil && opts.Kept != none {
		lay.note("map_not_used", "the map that is kept for the pack does not fit this file: its columns were found by their headers (kept: %s)", opts.Kept)
	}
	return lay, err
}

// headerLine returns the line of the headers as it stands in the file.
func (o *opened) headerLine() []byte {
	if o.lay.headerRow == 0 {
		return nil
	}
	lines := linesOf(o.head[:o.lay.offset], true)
	return bytes.Clone(lines[o.lay.headerRow-1].b)
}

// Read reads a time series to its end. What it holds in memory does not grow
// with the rows, nor with the segments where Options.Spill is given. progress, which may be nil, is told now
// and then how many rows have been read and how many bytes of r; it is called
// from the goroutine that called Read.
//
// The error is an *InputError where something in the file is at fault, ErrSign,
// ErrEmpty or ErrWindow, an error about the map, the reader's own error, that
// of the spill, or that of ctx.
func Read(ctx context.Context, r io.Reader, opts Options, progress func(rows, bytes int64)) (*Result, error) {
	o, err := open(r, opts)
	if err != nil {
		return nil, err
	}
	rd := newReading(o, opts)
	workers := opts.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	p := o.lay.newPlan(o.headerLine(), opts.SkipBad)
	rd.cur.use(p)
	err = p.run(ctx, o.src, o.rows, int64(o.lay.firstRow), workers, func(b *batch) error {
		if b.directed {
			rd.signs.declare()
		}
		if err := rd.cur.consume(b); err != nil {
			return err
		}
		if progress != nil {
			progress(rd.cur.rows, o.src.read.n.Load())
		}
		return rd.pieces.log.err
	})
	if err == nil {
		err = rd.finish()
	}
	if err != nil {
		rd.pieces.log.close()
		return nil, err
	}
	return rd.res, nil
}

func newReading(o *opened, opts Options) *reading {
	l := o.lay
	all := newPieces(opts.Spill)
	rd := &reading{opts: opts, lay: l, pieces: all, segs: &segmenter{fullAs: capacityOf(opts.Pack) * 3600, out: all}, res: &Result{Proposal: o.proposal()}}
	rd.res.rd = rd
	c := &cursor{lay: l, seen: findings{lay: l}, meanCurrent: l.meanCurrent, windowRows: 1, speed: math.NaN(), temp: math.NaN()}
	rd.cur = c
	rd.signs = &signer{steps: &c.steps, next: rd.segs, given: l.sign, sign: l.sign, usual: l.usualSign()}
	if l.column(Current) < 0 {
		rd.signs.declare()
	}
	rd.segs.sign = rd.signs.sign
	c.out = rd.signs
	c.scale(opts.Pack)
	rd.segs.small = c.stepOn
	return rd
}

// usualSign is the sign that the open Battery Data Format gives to the current.
func (l *layout) usualSign() Sign {
	if c := l.column(Current); c >= 0 && (l.name(c) == "Current / A" || l.name(c) == "current_ampere") {
		return PositiveCharges
	}
	return SignAuto
}

// use takes the plan by which the rows are parsed.
func (c *cursor) use(p *plan) {
	c.slots = p.extraSlots()
	c.extras = c.slots.any()
	if n := len(c.slots.groups); n > 0 {
		c.groups = make([]float64, n)
	}
	for n, r := range p.extraRole {
		if r >= ChargedCount && r <= NetEnergy {
			c.counts = append(c.counts, &counting{role: r, slot: slotExtra + n})
		}
	}
}

// finish makes the result of what the rows have left.
func (r *reading) finish() error {
	c := r.cur
	if err := c.seen.final(c.rows); err != nil {
		return err
	}
	c.end()
	if !c.started {
		return ErrEmpty
	}
	if !c.flowed() {
		return &InputError{Row: int64(r.lay.headerRow), Column: r.lay.currentName(), Want: fmt.Sprintf("the current is 0 in all %d rows: want a column in which current flows", c.rows)}
	}
	if err := r.signs.finish(); err != nil {
		return err
	}
	r.sign = r.signs.sign
	r.res.Rows, r.res.Seconds = c.rows, r.pieces.t1-r.pieces.t0
	var dates []Warning
	r.cal, dates = newCalendar(r.lay, r.opts, r.pieces.t0, r.pieces.t1)
	r.res.Dated = r.cal.known
	r.sum()
	refused, err := r.survey()
	if err != nil {
		return err
	}
	r.points()
	r.res.Mapping = r.lay.mapping(r.sign)
	r.res.Warnings = slices.Concat(r.lay.notes, dates, r.signs.warnings(r.lay.currentName()), c.seen.warnings(), r.stuckWarnings(), r.counterWarnings(), r.voltageWarnings(), refused)
	return nil
}
