package gpx

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"

	"packwane/health/logbook"
)

// The bounds of what is read.
const (
	maxPoints = 5_000_000 // 58 days at one a second
	maxDepth  = 100
)

// Track is the points of one GPX file as they stood there.
type Track struct {
	points  spool
	isRoute bool // the points are those of routes: the file has no track
	faults  faults
}

// faults counts what was read over, with the line of the first.
type faults struct{ times, elevations tally }

type tally struct{ n, line int }

func (t *tally) note(line int) {
	if t.n == 0 {
		t.line = line
	}
	t.n++
}

// Points returns how many points the track has.
func (t *Track) Points() int { return t.points.n }

// Read reads a GPX 1.0 or 1.1 file: the points of its tracks, else of its
// routes. The name of the file is only printed. A file that is not whole, not
// GPX, or has a point without a position within ±90 and ±180 degrees is refused
// with an *logbook.InputError that names the line; an elevation or a time that
// cannot be read is absent. Other errors come from src.
func Read(src io.Reader, file string) (*Track, error) {
	in, err := asUTF8(src)
	var failure readFailure
	switch {
	case errors.As(err, &failure):
		return nil, fmt.Errorf("%s: %w", file, failure.error)
	case errors.Is(err, errEmpty):
		return nil, &logbook.InputError{At: logbook.Position{File: file}, Err: err}
	case err != nil:
		return nil, &logbook.InputError{At: logbook.Position{File: file, Line: 1}, Err: err}
	}
	r := &reader{lex: newLexer(in), track: &Track{}}
	if err := r.run(); err != nil {
		if r.lex.failed != nil {
			return nil, fmt.Errorf("%s: %w", file, r.lex.failed)
		}
		return nil, &logbook.InputError{At: logbook.Position{File: file, Line: r.lex.line}, Err: err}
	}
	if r.track.points.n == 0 {
		return nil, &logbook.InputError{At: logbook.Position{File: file}, Err: errors.New("no track points: want a <trk> with <trkpt> points")}
	}
	return r.track, nil
}

// reader follows the tokens of one file.
type reader struct {
	lex     *lexer
	track   *Track
	stack   []open
	begun   bool // the root has been seen
	point   fix
	segment int32
	text    []byte // of the field that is open
}

func (r *reader) run() error {
	for {
		t, err := r.lex.next()
		switch {
		case err == io.EOF:
			return r.end()
		case err != nil:
			return err
		}
		switch t.kind {
		case startTag:
			err = r.start(t)
		case endTag:
			err = r.close(t.name)
		case textRun, literal:
			err = r.chars(t)
		}
		if err != nil {
			return err
		}
	}
}

// top is the innermost open element.
func (r *reader) top() *open { return &r.stack[len(r.stack)-1] }

// end checks that nothing is left open.
func (r *reader) end() error {
	switch {
	case !r.begun:
		return errNotXML
	case len(r.stack) > 0:
		return fmt.Errorf("the file is cut short inside <%s>: want a whole GPX file", shorten(r.top().name))
	}
	return nil
}

func (r *reader) start(t token) error {
	if len(r.stack) == maxDepth {
		return fmt.Errorf("elements are nested more than %d deep: want a GPX file", maxDepth)
	}
	is, err := r.meaning(t.name)
	if err != nil {
		return err
	}
	r.push(t.name, is)
	switch is {
	case elSegment, elRoute:
		r.segment++
	case elPoint, elRoutePoint:
		return r.startPoint(t)
	case elEle, elTime, elSpeed:
		r.text = r.text[:0]
	}
	return nil
}

// push opens an element. A name that stood at this depth before is kept, not
// copied again.
func (r *reader) push(name []byte, is element) {
	n := len(r.stack)
	if n < cap(r.stack) {
		r.stack = r.stack[:n+1]
		if o := &r.stack[n]; o.name == string(name) {
			o.is = is
			return
		}
		r.stack = r.stack[:n]
	}
	r.stack = append(r.stack, open{string(name), localAt(name), is})
}

func (r *reader) meaning(name []byte) (element, error) {
	if len(r.stack) > 0 {
		return childOf(r.top(), name), nil
	}
	switch {
	case r.begun:
		return elOther, fmt.Errorf("<%s> stands behind the end of <gpx>: want one GPX document", shorten(string(name)))
	case string(name[localAt(name):]) != "gpx":
		return elOther, fmt.Errorf("the document is a <%s>: want a <gpx>", shorten(string(name)))
	}
	r.begun = true
	return elGpx, nil
}

// startPoint reads the position of a point.
func (r *reader) startPoint(t token) error {
	lat, err := degrees(t, "lat", 90)
	if err != nil {
		return err
	}
	lon, err := degrees(t, "lon", 180)
	if err != nil {
		return err
	}
	r.point = fix{lat: lat, lon: lon, segment: r.segment, line: int32(r.lex.line)}
	return nil
}

func degrees(t token, name string, most float64) (int64, error) {
	for _, a := range t.attrs {
		if string(a.name) != name {
			continue
		}
		if v, ok := nanoDegrees(plain(a.value), most); ok {
			return v, nil
		}
		return 0, fmt.Errorf("%s %s of <%s>: want degrees from %g to %g", name, quoteShort(plain(a.value)), shorten(string(t.name)), -most, most)
	}
	return 0, fmt.Errorf("<%s> has no %s: want degrees from %g to %g", shorten(string(t.name)), name, -most, most)
}

func (r *reader) close(name []byte) error {
	if len(r.stack) == 0 {
		return fmt.Errorf("</%s> closes nothing: want a whole GPX file", shorten(string(name)))
	}
	top := r.top()
	if top.name != string(name) {
		return fmt.Errorf("</%s> closes <%s>: want a whole GPX file", shorten(string(name)), shorten(top.name))
	}
	r.stack = r.stack[:len(r.stack)-1]
	switch top.is {
	case elPoint, elRoutePoint:
		return r.keep(top.is == elRoutePoint)
	case elEle, elTime, elSpeed:
		r.field(top.is)
	}
	return nil
}

// maxField is far more than a number or a time needs.
const maxField = 64

func (r *reader) chars(t token) error {
	if len(r.stack) == 0 {
		if len(bytes.Trim(t.text, xmlSpace)) > 0 {
			r.lex.line += blankLines(t.text)
			return errors.New("text stands outside <gpx>: want one GPX document")
		}
		return nil
	}
	switch r.top().is {
	case elEle, elTime, elSpeed:
	default:
		return nil
	}
	if t.kind == textRun && bytes.IndexByte(t.text, '&') >= 0 {
		t.text = []byte(plain(t.text))
	}
	if len(r.text) <= maxField {
		r.text = append(r.text, t.text[:min(len(t.text), maxField+1)]...)
	}
	return nil
}

// field reads the text of an element that has just ended.
func (r *reader) field(is element) {
	text, p := string(r.text), &r.point
	switch is {
	case elEle:
		if v, ok := milli(text, lowestM, highestM); ok {
			p.eleMm, p.has = v, p.has|hasEle
		} else if !blank(text) {
			r.track.faults.elevations.note(r.lex.line)
		}
	case elTime:
		if v, ok := timestamp(text); ok {
			p.timeMs, p.has = v, p.has|hasTime
		} else if !blank(text) {
			r.track.faults.times.note(r.lex.line)
		}
	case elSpeed:
		if v, ok := milli(text, 0, fastestMs); ok {
			p.speedMms, p.has = v, p.has|hasSpeed
		}
	}
}

// What elevations and speeds can be: from below the lowest shore to above the
// highest summit (m), and the fastest that a ride record accepts (m/s).
const (
	lowestM, highestM = -500.0, 9000.0
	fastestMs         = 300 / 3.6
)

// keep adds the point that has just ended. The points of routes count only
// where there is no track.
func (r *reader) keep(ofRoute bool) error {
	t := r.track
	if ofRoute && t.points.n > 0 && !t.isRoute {
		return nil
	}
	if !ofRoute && t.isRoute {
		t.points, t.isRoute = spool{}, false
	}
	if t.points.n == maxPoints {
		return fmt.Errorf("more than %s points: want a track of at most so many", strconv.Itoa(maxPoints))
	}
	if ofRoute {
		t.isRoute = true
	}
	t.points.add(r.point)
	return nil
}
