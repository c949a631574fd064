package gpx

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"packwane/health/logbook"
)

// fixes reads a document and returns its points without their lines.
func fixes(data string) ([]fix, error) {
	t, err := Read(strings.NewReader(data), "x.gpx")
	if err != nil {
		return nil, err
	}
	return withoutLines(slices.Collect(t.points.all())), nil
}

func withoutLines(points []fix) []fix {
	for i := range points {
		points[i].line = 0
	}
	return points
}

const onePoint = `<trkpt lat="46.5" lon="-7.25"><ele>12.5</ele><time>2026-04-11T09:00:01.5Z</time></trkpt>`

// TestReadForms reads one point in the forms that GPX 1.0 and 1.1
// (https://www.topografix.com/gpx_manual.asp, GPX/1/1/gpx.xsd) and writers give it.
func TestReadForms(t *testing.T) {
	want := fix{lat: 46_500_000_000, lon: -7_250_000_000, timeMs: 1775898001500, eleMm: 12500, segment: 1, has: hasTime | hasEle}
	withSpeed := want
	withSpeed.speedMms, withSpeed.has = 5500, want.has|hasSpeed
	bare := fix{lat: want.lat, lon: want.lon, segment: 1}
	for _, c := range []struct {
		name, data string
		want       fix
	}{
		{"1.1", `<?xml version="1.0" encoding="UTF-8"?><gpx version="1.1" creator="a" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>n &amp; m</name><trkseg>` + onePoint + `</trkseg></trk></gpx>`, want},
		{"no namespace", `<gpx><trk><trkseg>` + onePoint + `</trkseg></trk></gpx>`, want},
		{"mark", "\xef\xbb\xbf<gpx><trk><trkseg>" + onePoint + `</trkseg></trk></gpx>`, want},
		{"prefix", `<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1"><g:trk><g:trkseg><g:trkpt lat="46.5" lon="-7.25"><g:ele>12.5</g:ele><g:time>2026-04-11T09:00:01.5Z</g:time></g:trkpt></g:trkseg></g:trk></g:gpx>`, want},
		{"other vocabulary", `<gpx xmlns:o="urn:o"><trk><trkseg><trkpt lat="46.5" lon="-7.25"><o:ele>99</o:ele><ele>12.5</ele><time>2026-04-11T11:00:01.500+02:00</time></trkpt></trkseg></trk></gpx>`, want},
		{"speed of 1.0", `<gpx version="1.0"><trk><trkseg><trkpt lat="46.5" lon="-7.25"><ele>12.5</ele><time>2026-04-11T09:00:01.5</time><speed>5.5</speed></trkpt></trkseg></trk></gpx>`, withSpeed},
		{"speed in extensions", `<gpx xmlns:e="urn:e"><trk><trkseg><trkpt lat="46.5" lon="-7.25"><ele>12.5</ele><time>2026-04-11T09:00:01.5Z</time><extensions><e:all><e:hr>99</e:hr><e:Speed>5.5</e:Speed></e:all></extensions></trkpt></trkseg></trk></gpx>`, withSpeed},
		{"quotes, order, space", "<gpx\n><trk ><trkseg >\n<trkpt\tlon = '-7.25'\n x='>' lat='+46.50'\n>\n<!-- <ele>9</ele> --><ele> <![CDATA[12]]>.5\n</ele><time>2026-04-11T09:00:&#48;1.5Z</time></trkpt ></trkseg></trk></gpx >", want},
		{"bare", `<gpx><trk><trkseg><trkpt lat="46.5" lon="-7.25"/></trkseg></trk></gpx>`, bare},
		{"unreadable", `<gpx><trk><trkseg><trkpt lat="46.5" lon="-7.25"><ele>NaN</ele><time>yesterday</time></trkpt></trkseg></trk></gpx>`, bare},
		{"empty fields", `<gpx><trk><trkseg><trkpt lat="46.5" lon="-7.25"><ele/><time> </time></trkpt></trkseg></trk></gpx>`, bare},
		{"not of the track", `<gpx><wpt lat="1" lon="2"><ele>3</ele></wpt><rte><rtept lat="1" lon="1"/></rte><trk><trkseg><trkpt lat="46.5" lon="-7.25"/></trkseg></trk><rte><rtept lat="2" lon="2"/></rte></gpx>`, fix{lat: bare.lat, lon: bare.lon, segment: 2}},
		{"exponent", `<gpx><trk><trkseg><trkpt lat="4.65E1" lon="-725e-2"/></trkseg></trk></gpx>`, bare},
	} {
		got, err := fixes(c.data)
		if err != nil || len(got) != 1 || got[0] != c.want {
			t.Errorf("%s: %+v, %v, want %+v", c.name, got, err, c.want)
		}
	}
}

// TestReadRoute takes the points of routes where there is no track.
func TestReadRoute(t *testing.T) {
	track, err := Read(strings.NewReader(`<gpx><rte><rtept lat="1" lon="1"/><rtept lat="2" lon="1"/></rte></gpx>`), "r.gpx")
	if err != nil || track.Points() != 2 || !track.isRoute {
		t.Fatal(track, err)
	}
	if w := Analyse(track, Options{}).Warnings; len(w) == 0 || w[0].Code != "route_only" {
		t.Errorf("warnings %v, want route_only first", w)
	}
}

// TestReadEncodings reads the same document in other character sets.
func TestReadEncodings(t *testing.T) {
	doc := func(encoding string) string {
		return `<?xml version="1.0" encoding="` + encoding + `"?><gpx><trk><name>Überfahrt</name><trkseg>` + onePoint + `</trkseg></trk></gpx>`
	}
	want, err := fixes(doc("UTF-8"))
	if err != nil {
		t.Fatal(err)
	}
	latin, _ := charmap.ISO8859_1.NewEncoder().String(doc("ISO-8859-1"))
	win, _ := charmap.Windows1252.NewEncoder().String(doc("windows-1252"))
	little, _ := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(doc("UTF-16"))
	big, _ := unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewEncoder().String(doc("UTF-16"))
	for name, data := range map[string]string{"latin": latin, "windows": win, "utf-16le": little, "utf-16be": big, "utf-16 in name only": doc("utf-16")} {
		if got, err := fixes(data); err != nil || !slices.Equal(got, want) {
			t.Errorf("%s: %v, %v", name, got, err)
		}
	}
	if _, err := fixes(doc("none-such")); err == nil || !strings.Contains(err.Error(), `x.gpx:1: the encoding "none-such" is not known: want UTF-8`) {
		t.Errorf("unknown encoding: %v", err)
	}
}

// TestReadRefuses gives one line with the place for each bad file.
func TestReadRefuses(t *testing.T) {
	points := func(s string) string { return "<gpx><trk><trkseg>\n" + s + "\n</trkseg></trk></gpx>" }
	for _, c := range []struct{ name, data, want string }{
		{"empty", "", "x.gpx: the file is empty: want a GPX file"},
		{"white", " \n", "x.gpx:2: this is not XML: want a GPX file, which begins with <"},
		{"binary", "\x1f\x8b\x08\x00abc", "x.gpx:1: this is not XML: want a GPX file, which begins with <"},
		{"text", "a,b\n1,2\n", "x.gpx:1: this is not XML: want a GPX file, which begins with <"},
		{"other root", "<?xml version='1.0'?>\n<kml/>", "x.gpx:2: the document is a <kml>: want a <gpx>"},
		{"no points", "<gpx></gpx>", "x.gpx: no track points: want a <trk> with <trkpt> points"},
		{"lat", points(onePoint + "\n" + `<trkpt lat="91" lon="0"/>`), `x.gpx:3: lat "91" of <trkpt>: want degrees from -90 to 90`},
		{"lon", points(`<trkpt lat="1" lon="180.5"/>`), `x.gpx:2: lon "180.5" of <trkpt>: want degrees from -180 to 180`},
		{"comma", points(`<trkpt lat="46,5" lon="0"/>`), `x.gpx:2: lat "46,5" of <trkpt>: want degrees from -90 to 90`},
		{"not a number", points(`<trkpt lat="NaN" lon="0"/>`), `x.gpx:2: lat "NaN" of <trkpt>: want degrees from -90 to 90`},
		{"no lon", points(`<trkpt lat="1"/>`), `x.gpx:2: <trkpt> has no lon: want degrees from -180 to 180`},
		{"cut in a tag", "<gpx><trk>\n<trkseg><trkpt lat=\"1", "x.gpx:2: the file is cut short: want a whole GPX file"},
		{"cut between tags", "<gpx><trk><trkseg>" + onePoint + "\n", "x.gpx:2: the file is cut short inside <trkseg>: want a whole GPX file"},
		{"crossed", points("<trkpt lat='1' lon='1'><ele>1</trkpt></ele>"), "x.gpx:2: </trkpt> closes <ele>: want a whole GPX file"},
		{"two roots", "<gpx/><gpx/>", "x.gpx:1: <gpx> stands behind the end of <gpx>: want one GPX document"},
		{"text behind", points(onePoint) + "\nend", "x.gpx:4: text stands outside <gpx>: want one GPX document"},
		{"entity", points(onePoint + "&big;"), `x.gpx:2: the reference "&big" stands for nothing: want a whole GPX file`},
		{"entities declared", "<!DOCTYPE g [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;\">]>\n<gpx/>", "x.gpx:1: the document type declares things of its own: want a whole GPX file"},
		{"not UTF-8", points("\xff"), "x.gpx:2: the text is not UTF-8: want a whole GPX file"},
		{"control", points("\x01"), `x.gpx:2: the character '\x01' is not allowed: want a whole GPX file`},
	} {
		_, err := Read(strings.NewReader(c.data), "x.gpx")
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
			continue
		}
		var input *logbook.InputError
		if !errors.As(err, &input) {
			t.Errorf("%s: the error is a %T, want a *logbook.InputError", c.name, err)
		}
	}
}

// endless gives the same bytes for ever, and counts them.
type endless struct {
	head, body string
	given      int
}

func (e *endless) Read(p []byte) (int, error) {
	n := copy(p, e.head)
	e.head = e.head[n:]
	for n < len(p) {
		n += copy(p[n:], e.body)
	}
	e.given += n
	return n, nil
}

// TestReadBounded feeds streams without an end: each is refused after little
// more than the longest token, or than the deepest nesting.
func TestReadBounded(t *testing.T) {
	for name, c := range map[string]struct{ head, body, want string }{
		"text":      {"<gpx>", "a", "longer than 1 MiB"},
		"comment":   {"<gpx><!--", "a", "longer than 1 MiB"},
		"attribute": {"<gpx a='", "a", "longer than 1 MiB"},
		"tag name":  {"<gpx><", "a", "longer than 1 MiB"},
		"cdata":     {"<gpx><![CDATA[", "]", "longer than 1 MiB"},
		"doctype":   {"<!DOCTYPE ", "[", "longer than 1 MiB"},
		"pi":        {"<?a ", "?", "longer than 1 MiB"},
		"nesting":   {"<gpx>", "<a>", "nested more than 100 deep"},
		"blank":     {"", " ", "longer than 1 MiB"},
	} {
		in := &endless{head: c.head, body: c.body}
		_, err := Read(in, "x.gpx")
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
		if in.given > 3*maxToken {
			t.Errorf("%s: read %d bytes before giving up", name, in.given)
		}
	}
}

// TestReadFailure passes on what the file system says, not as a fault of the file.
func TestReadFailure(t *testing.T) {
	broken := errors.New("disk on fire")
	for _, head := range []string{"", "<gpx><trk>"} {
		_, err := Read(io.MultiReader(strings.NewReader(head), iotest.ErrReader(broken)), "x.gpx")
		var input *logbook.InputError
		if !errors.Is(err, broken) || errors.As(err, &input) || !strings.HasPrefix(err.Error(), "x.gpx: ") {
			t.Errorf("after %q: %v", head, err)
		}
	}
}

// TestReadPieces reads a document byte by byte to the same points.
func TestReadPieces(t *testing.T) {
	points, _ := invented{corners: [][2]float64{{0, 0}, {300, 0}}, speedMs: 5, everyS: 1}.make()
	data := asGPX(points)
	want, err := fixes(data)
	if err != nil {
		t.Fatal(err)
	}
	track, err := Read(iotest.OneByteReader(strings.NewReader(data)), "x.gpx")
	if err != nil || !slices.Equal(withoutLines(slices.Collect(track.points.all())), want) {
		t.Errorf("byte by byte: %v", err)
	}
}

// TestLines tells the line of a point as an editor counts it.
func TestLines(t *testing.T) {
	track, err := Read(strings.NewReader("<gpx>\r\n<trk>\n<trkseg>\n"+onePoint+"\n\n"+onePoint+"</trkseg></trk></gpx>"), "x.gpx")
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for f := range track.points.all() {
		lines = append(lines, fmt.Sprint(f.line))
	}
	if got := strings.Join(lines, " "); got != "4 6" {
		t.Errorf("lines %s, want 4 6", got)
	}
}

// TestSpool packs a million points into less than 16 bytes each.
func TestSpool(t *testing.T) {
	var s spool
	f := fix{lat: 46_000_000_000, lon: 7_000_000_000, timeMs: simStart.UnixMilli(), eleMm: 500_000, segment: 1, has: hasTime | hasEle}
	for i := range 1_000_000 {
		f.line = int32(i)
		f.lat += int64(i%97) * 1000
		f.lon -= int64(i%89) * 1000
		f.eleMm += int32(i%7) - 3
		f.timeMs += 1000
		s.add(f)
	}
	if bytes := len(s.blocks) * spoolBlock; bytes > 16_000_000 {
		t.Errorf("%d bytes for a million points", bytes)
	}
}
