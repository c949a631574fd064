package gpx

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"
)

// oracle reads GPX by the tokens of encoding/xml, slowly and plainly: what the
// reader is held against.
func oracle(data string) ([]fix, error) {
	d := xml.NewDecoder(strings.NewReader(strings.TrimPrefix(data, "\xef\xbb\xbf")))
	o := &oracleReader{}
	for {
		token, err := d.RawToken()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			err = o.start(t)
		case xml.EndElement:
			err = o.end(t.Name)
		case xml.CharData:
			err = o.chars(string(t))
		case xml.Directive:
			if strings.ContainsAny(string(t), "[<") || !strings.HasPrefix(string(t), "DOCTYPE") {
				err = errors.New("declarations")
			}
		}
		if err != nil {
			return nil, err
		}
	}
	if len(o.stack) > 0 || !o.begun {
		return nil, errors.New("cut short")
	}
	points := o.track
	if points == nil {
		points = o.route
	}
	if len(points) == 0 {
		return nil, errors.New("no points")
	}
	return points, nil
}

type oracleReader struct {
	stack        []xml.Name
	begun        bool
	track, route []fix
	point        fix
	text         string
	segment      int32
}

// at returns the local names of the open elements that share the root's prefix
// all the way, joined; "" else.
func (o *oracleReader) at() string {
	var names []string
	for i, n := range o.stack {
		inside := len(names) > 4 && names[4] == "extensions" || len(names) > 3 && names[3] == "extensions"
		if i > 0 && n.Space != o.stack[i-1].Space && !inside {
			return ""
		}
		names = append(names, n.Local)
	}
	return strings.Join(names, " ")
}

func (o *oracleReader) start(t xml.StartElement) error {
	if len(o.stack) == 0 && (o.begun || t.Name.Local != "gpx") {
		return errors.New("root")
	}
	if len(o.stack) == maxDepth {
		return errors.New("deep")
	}
	o.begun = true
	o.stack = append(o.stack, t.Name)
	switch o.at() {
	case "gpx trk trkseg", "gpx rte":
		o.segment++
	case "gpx trk trkseg trkpt", "gpx rte rtept":
		return o.startPoint(t)
	}
	if o.field() != "" {
		o.text = ""
	}
	return nil
}

func (o *oracleReader) startPoint(t xml.StartElement) error {
	var lat, lon *int64
	for _, a := range t.Attr {
		if a.Name.Space == "" && a.Name.Local == "lat" && lat == nil {
			v, ok := nanoDegrees(a.Value, 90)
			if !ok {
				return errors.New("lat")
			}
			lat = &v
		}
		if a.Name.Space == "" && a.Name.Local == "lon" && lon == nil {
			v, ok := nanoDegrees(a.Value, 180)
			if !ok {
				return errors.New("lon")
			}
			lon = &v
		}
	}
	if lat == nil || lon == nil {
		return errors.New("no position")
	}
	o.point = fix{lat: *lat, lon: *lon, segment: o.segment}
	return nil
}

// field returns which field of a point is open.
func (o *oracleReader) field() string {
	at := o.at()
	for _, point := range []string{"gpx trk trkseg trkpt ", "gpx rte rtept "} {
		rest, ok := strings.CutPrefix(at, point)
		if !ok {
			continue
		}
		if rest == "ele" || rest == "time" || rest == "speed" {
			return rest
		}
		inside, ok := strings.CutPrefix(rest, "extensions ")
		if !ok {
			continue
		}
		names := strings.Split(inside, " ")
		for _, n := range names[:len(names)-1] {
			if strings.EqualFold(n, "speed") {
				return "" // inside a speed
			}
		}
		if strings.EqualFold(names[len(names)-1], "speed") {
			return "speed"
		}
	}
	return ""
}

func (o *oracleReader) chars(text string) error {
	if len(o.stack) == 0 && strings.Trim(text, xmlSpace) != "" {
		return errors.New("text outside")
	}
	if o.field() != "" {
		o.text += text
	}
	return nil
}

func (o *oracleReader) end(name xml.Name) error {
	if len(o.stack) == 0 || o.stack[len(o.stack)-1] != name {
		return errors.New("nesting")
	}
	field, at := o.field(), o.at()
	o.stack = o.stack[:len(o.stack)-1]
	text := o.text
	if len(text) > maxField {
		text = "x"
	}
	switch field {
	case "ele":
		if v, ok := milli(text, lowestM, highestM); ok {
			o.point.eleMm, o.point.has = v, o.point.has|hasEle
		}
	case "time":
		if v, ok := timestamp(text); ok {
			o.point.timeMs, o.point.has = v, o.point.has|hasTime
		}
	case "speed":
		if v, ok := milli(text, 0, fastestMs); ok {
			o.point.speedMms, o.point.has = v, o.point.has|hasSpeed
		}
	}
	switch at {
	case "gpx trk trkseg trkpt":
		o.track = append(o.track, o.point)
	case "gpx rte rtept":
		o.route = append(o.route, o.point)
	}
	return nil
}
