package gpx

import (
	"encoding/xml"
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
	g, err := openGate(src)
	var failure readFailure
	switch {
	case errors.As(err, &failure):
		return nil, fmt.Errorf("%s: %w", file, failure.error)
	case errors.Is(err, errEmpty):
		return nil, &logbook.InputError{At: logbook.Position{File: file}, Err: err}
	case err != nil:
		return nil, &logbook.InputError{At: logbook.Position{File: file, Line: 1}, Err: err}
	}
	r := &reader{gate: g, xml: xml.NewDecoder(g), track: &Track{}}
	r.xml.CharsetReader = charset
	if err := r.run(); err != nil {
		if g.failed != nil {
			return nil, fmt.Errorf("%s: %w", file, g.failed)
		}
		return nil, &logbook.InputError{At: logbook.Position{File: file, Line: r.line()}, Err: err}
	}
	if r.track.points.n == 0 {
		return nil, &logbook.InputError{At: logbook.Position{File: file}, Err: errors.New("no track points: want a <trk> with <trkpt> points")}
	}
	return r.track, nil
}

// reader follows the tokens of one file.
type reader struct {
	gate    *gate
	xml     *xml.Decoder
	track   *Track
	stack   []open
	begun   bool // the root has been seen
	point   fix
	segment int32
	text    []byte // of the field that is open
}

func (r *reader) line() int {
	line, _ := r.xml.InputPos()
	return line
}

func (r *reader) run() error {
	for {
		token, err := r.xml.RawToken()
		r.gate.tokenDone()
		if err == io.EOF {
			return r.end()
		}
		if err != nil {
			return faultOf(err)
		}
		switch t := token.(type) {
		case xml.StartElement:
			err = r.start(t)
		case xml.EndElement:
			err = r.close(t.Name)
		case xml.CharData:
			err = r.chars(t)
		}
		if err != nil {
			return err
		}
	}
}

// faultOf takes the words out of an error of the decoder.
func faultOf(err error) error {
	var syntax *xml.SyntaxError
	if !errors.As(err, &syntax) {
		return err
	}
	if syntax.Msg == "unexpected EOF" {
		return errors.New("the file is cut short: want a whole GPX file")
	}
	return errors.New("XML: " + quoteShort(syntax.Msg) + ": want a whole GPX file")
}

// end checks that nothing is left open.
func (r *reader) end() error {
	switch {
	case !r.begun:
		return errNotXML
	case len(r.stack) > 0:
		return fmt.Errorf("the file is cut short inside <%s>: want a whole GPX file", shorten(written(r.stack[len(r.stack)-1].name)))
	}
	return nil
}

func (r *reader) start(t xml.StartElement) error {
	if len(r.stack) == maxDepth {
		return fmt.Errorf("elements are nested more than %d deep: want a GPX file", maxDepth)
	}
	is, err := r.meaning(t.Name)
	if err != nil {
		return err
	}
	r.stack = append(r.stack, open{t.Name, is})
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

func (r *reader) meaning(name xml.Name) (element, error) {
	if len(r.stack) > 0 {
		return childOf(r.stack[len(r.stack)-1], name), nil
	}
	switch {
	case r.begun:
		return elOther, fmt.Errorf("<%s> stands behind the end of <gpx>: want one GPX document", shorten(written(name)))
	case name.Local != "gpx":
		return elOther, fmt.Errorf("the document is a <%s>: want a <gpx>", shorten(written(name)))
	}
	r.begun = true
	return elGpx, nil
}

// startPoint reads the position of a point.
func (r *reader) startPoint(t xml.StartElement) error {
	lat, err := degrees(t, "lat", 90)
	if err != nil {
		return err
	}
	lon, err := degrees(t, "lon", 180)
	if err != nil {
		return err
	}
	r.point = fix{lat: lat, lon: lon, segment: r.segment, line: int32(r.line())}
	return nil
}

func degrees(t xml.StartElement, name string, most float64) (int64, error) {
	for _, a := range t.Attr {
		if a.Name.Local != name || a.Name.Space != "" {
			continue
		}
		if v, ok := nanoDegrees(a.Value, most); ok {
			return v, nil
		}
		return 0, fmt.Errorf("%s %s of <%s>: want degrees from %g to %g", name, quoteShort(a.Value), shorten(written(t.Name)), -most, most)
	}
	return 0, fmt.Errorf("<%s> has no %s: want degrees from %g to %g", shorten(written(t.Name)), name, -most, most)
}

func (r *reader) close(name xml.Name) error {
	if len(r.stack) == 0 {
		return fmt.Errorf("</%s> closes nothing: want a whole GPX file", shorten(written(name)))
	}
	top := r.stack[len(r.stack)-1]
	if top.name != name {
		return fmt.Errorf("</%s> closes <%s>: want a whole GPX file", shorten(written(name)), shorten(written(top.name)))
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

func (r *reader) chars(text xml.CharData) error {
	if len(r.stack) == 0 {
		return nil
	}
	switch r.stack[len(r.stack)-1].is {
	case elEle, elTime, elSpeed:
		if len(r.text) <= maxField {
			r.text = append(r.text, text[:min(len(text), maxField+1)]...)
		}
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
			r.track.faults.elevations.note(r.line())
		}
	case elTime:
		if v, ok := timestamp(text); ok {
			p.timeMs, p.has = v, p.has|hasTime
		} else if !blank(text) {
			r.track.faults.times.note(r.line())
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
