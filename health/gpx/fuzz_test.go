package gpx

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

// fuzzSeeds are documents from which inputs are bred.
var fuzzSeeds = []string{
	`<?xml version="1.0" encoding="UTF-8"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>a &lt; b</name><trkseg>` + onePoint + onePoint + `</trkseg></trk></gpx>`,
	`<g:gpx xmlns:g="x"><g:rte><g:rtept lat="1" lon="2"/><g:rtept lon='3' lat='4'><g:speed>1</g:speed></g:rtept></g:rte></g:gpx>`,
	`<gpx><!-- c --><trk><trkseg><trkpt lat="-1.5e0" lon="0"><ele><![CDATA[7]]></ele><extensions><a:speed>3</a:speed><speed/></extensions></trkpt></trkseg></trk></gpx>`,
	`<gpx><trk><trkseg><trkpt lat="1" lon="1"><time>2026-04-11T09:00:&#x30;1+01:30</time></trkpt></trkseg></trk></gpx> `,
	`<!DOCTYPE gpx ">"><gpx><x a='>' b="&quot;"/></gpx>`, "", "<", "<gpx", "<gpx><a></b>", "<?xml?>",
}

// FuzzRead holds the reader against one on the tokens of encoding/xml: what that
// accepts this reads as the same points, and in plain ASCII without <! and <? it
// refuses what that refuses. What was read, written out, reads as the same again.
func FuzzRead(f *testing.F) {
	for _, s := range fuzzSeeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data string) {
		got, err := fixes(data)
		if err != nil && strings.ContainsAny(err.Error(), "\n\x00") {
			t.Fatalf("the error is not one line: %q", err)
		}
		if err == nil {
			again, err := fixes(asGPX(got))
			if err != nil || !sameBut(got, again) {
				t.Fatalf("written and read again: %v\n%+v\n%+v", err, got, again)
			}
		}
		if declared([]byte(data)) != "" || strings.Contains(data, "\x00") || strings.Contains(data, "encoding") || strings.Contains(data, "version") {
			return // other character sets and versions of XML are tested by hand
		}
		want, refused := oracle(data)
		if refused == nil && (err != nil || !slices.Equal(got, want)) {
			t.Fatalf("encoding/xml reads\n%+v\nthis\n%+v, %v", want, got, err)
		}
		if plainASCII(data) && refused != nil && err == nil {
			t.Fatalf("encoding/xml says %v, this reads %+v", refused, got)
		}
	})
}

// sameBut compares points whose segments may be numbered otherwise.
func sameBut(a, b []fix) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		x, y := a[i], b[i]
		if i > 0 && (x.segment == a[i-1].segment) != (y.segment == b[i-1].segment) {
			return false
		}
		x.segment, y.segment = 0, 0
		if x != y {
			return false
		}
	}
	return true
}

func plainASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return !strings.Contains(s, "<!") && !strings.Contains(s, "<?")
}

var rfc3339 = regexp.MustCompile(`^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:[0-5]\d)$`)

// FuzzTimestamp holds times against package time: what that reads as RFC 3339
// this reads to the same millisecond, within the years that GPS knows.
func FuzzTimestamp(f *testing.F) {
	for _, s := range []string{"2026-04-11T09:00:00Z", "1999-12-31T23:59:59.987+14:00", "2024-02-29T00:00:00-00:30", "2023-02-29T00:00:00Z", "2026-04-11 09:00:00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		want, err := time.Parse(time.RFC3339, s)
		if err != nil || !rfc3339.MatchString(s) {
			return // time.Parse takes some more, such as hours of one digit
		}
		if _, offset := want.Zone(); offset > 14*3600 || offset < -14*3600-59*60 {
			return
		}
		ms := want.Truncate(time.Millisecond).UnixMilli()
		inside := ms >= gpsEpochMs && ms <= lastTimeMs
		if got, ok := timestamp(s); ok != inside || ok && got != ms {
			t.Fatalf("%q: %d, %v, want %d, %v", s, got, ok, ms, inside)
		}
	})
}

// FuzzDecimal holds numbers against strconv: what this takes, that reads as the
// same, and it is finite.
func FuzzDecimal(f *testing.F) {
	for _, s := range []string{"1.5", "-0", "+.5", "1e3", "0x10", "inf", "NaN", "1_0", " 7\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, ok := decimal(s)
		want, err := strconv.ParseFloat(strings.Trim(s, xmlSpace), 64)
		if ok && (err != nil || got != want || got-got != 0) {
			t.Fatalf("%q: %v, strconv says %v, %v", s, got, want, err)
		}
	})
}

// FuzzAnalyse measures any points at all: the time on the move and at rest never
// exceeds the time from the first point to the last, no more than the whole of
// the time is steady, and the order of the points in the file is of no account.
func FuzzAnalyse(f *testing.F) {
	f.Add([]byte{0, 1, 2, 3, 200, 4, 5, 6, 7, 1, 1, 1, 1, 9, 0, 0})
	f.Add([]byte("a ride of some kind, or of none at all; who can tell?"))
	f.Fuzz(func(t *testing.T, data []byte) {
		points := wild(data)
		if len(points) == 0 {
			return
		}
		s := Analyse(asTrack(points), Options{})
		if elapsed := s.End.Sub(s.Start).Minutes(); s.MovingMin.V+s.StoppedMin.V > elapsed*(1+1e-9)+1e-6 {
			t.Fatalf("%v min moving and %v min standing in %v min", s.MovingMin.V, s.StoppedMin.V, elapsed)
		}
		if s.SteadyShare.V < 0 || s.SteadyShare.V > 1+1e-9 || s.DistanceKm.V < 0 || s.ClimbM.V < 0 || s.DescentM.V < 0 || s.SpeedSdKmh.V < 0 {
			t.Fatalf("%+v", s)
		}
		if s.Start.IsZero() {
			return
		}
		slices.Reverse(points)
		again := Analyse(asTrack(points), Options{})
		again.Warnings, s.Warnings = nil, nil
		if a, b := text(t, again), text(t, s); a != b {
			t.Fatalf("the other way round:\n%s\n%s", a, b)
		}
	})
}

// wild makes a point of each four bytes: steps of up to 100 m and 51 s, and now
// and then much more.
func wild(data []byte) []fix {
	var out []fix
	e, n, t := 0.0, 0.0, 0.0
	segment := int32(1)
	for ; len(data) >= 4; data = data[4:] {
		e += float64(int8(data[0])) * 0.8
		n += float64(int8(data[1])) * 0.8
		t += 0.2 * (1 + float64(data[2]))
		switch data[3] {
		case 1:
			e += 5000
		case 2:
			t += 7200
		case 3:
			segment++
		}
		f := fixAt(e, n, t)
		f.segment = segment
		if data[3]%4 != 0 {
			f.eleMm, f.has = int32(data[3])*500, f.has|hasEle
		}
		out = append(out, f)
	}
	return out
}
