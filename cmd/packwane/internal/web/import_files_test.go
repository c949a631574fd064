package web_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

// evening is an invented log of volts and amperes with decimal commas: a rest,
// a ride of 40 minutes at 10 A, a rest. 10 A for 40 min are 6.67 Ah (definition).
func evening() string {
	var b strings.Builder
	b.WriteString("Zeit;Spannung [V];Strom [A]\n")
	from := time.Date(2026, 5, 2, 18, 0, 0, 0, time.UTC)
	for s := 0; s <= 80*60; s += 10 {
		volts, amps := 41.2, 0.0
		if s >= 1200 {
			volts = 41.2 - 4*float64(min(s, 3600)-1200)/2400
		}
		if s >= 1200 && s < 3600 {
			volts, amps = volts-1.1, -10
		}
		fmt.Fprintf(&b, "%s;%s;%s\n", from.Add(time.Duration(s)*time.Second).Format("2006-01-02 15:04:05"),
			strings.Replace(fmt.Sprintf("%.3f", volts), ".", ",", 1), strings.Replace(fmt.Sprintf("%.2f", amps), ".", ",", 1))
	}
	return b.String()
}

// held is the name of the file that a page waits to be told about.
func held(t *testing.T, body string) string {
	t.Helper()
	m := regexp.MustCompile(`name="file" value="([^"]+)"`).FindStringSubmatch(body)
	if m == nil {
		t.Fatalf("no file is held in %s", clip(body))
	}
	return m[1]
}

// TestImportTrace: a log of volts and amperes is shown with its columns and
// rows before it is kept, goes in by the functions of the command, once, and
// can be taken back.
func TestImportTrace(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	a := s.upload("evening.csv", evening()).wants(t, 200, "Is this right?", "Which column is what", "Spannung [V]", "The first rows", "41.2", "<svg", "6.667 Ah", "Add 1 ride")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides before it is kept, want 12", n)
	}
	if n := strings.Count(a.body, "<tr><th scope=\"row\">2026-05-02"); n != 10 {
		t.Errorf("%d rows are shown, want 10", n)
	}
	key := held(t, a.body)
	b := s.post("/import/trace", "file", key, "map", "yes").wants(t, 200, "Imported", "added 1 ride", "Undo it")
	s.post("/import/trace", "file", key).wants(t, 422, "kept already")
	rides := s.records(logbook.KindRide)
	if len(rides) != 13 {
		t.Fatalf("there are %d rides, want 13", len(rides))
	}
	for _, r := range rides {
		if r := r.(*logbook.Ride); r.At.Day() == 2 && r.At.Month() == time.May && (r.DischargedAh.V < 6.65 || r.DischargedAh.V > 6.69) {
			t.Errorf("the ride took %v Ah, want 6.67", r.DischargedAh)
		}
	}
	s.upload("evening.csv", evening()).wants(t, 200, "The log holds all of this already")
	s.send("/undo", hidden(t, b.body, "/undo")).wants(t, 303)
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides after undoing, want 12", n)
	}
}

// TestImportTraceKinds: packed files and files of other encodings are read as
// the command reads them; what cannot be read is said and changes nothing.
func TestImportTraceKinds(t *testing.T) {
	s := newSite(t, nil)
	s.upload("evening.csv", evening()).wants(t, 422, "holds no pack")
	s.fill(kite)
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write([]byte(evening()))
	z.Close()
	s.upload("evening.csv.gz", packed.String()).wants(t, 200, "Add 1 ride")
	s.upload("a.csv", "time,volts,amps\n0,40,zz\n1,40,1\n2,40,1\n").wants(t, 422, "Not imported", "row 2", "Nothing was changed")
	s.upload("b.csv", "a;b;c\n1;2;3\n").wants(t, 422, "Nothing was changed")
	s.uploadWith("c.csv", evening(), "map", "nonsense").wants(t, 422, "want key=value", `value="nonsense"`)
	s.uploadWith("c.csv", evening(), "start", "nonsense").wants(t, 422, "Time of the first row")
	s.uploadWith("c.csv", evening(), "pack", "nobody").wants(t, 404)
	s.post("/import/trace", "file", "AAAA").wants(t, 422, "Choose it again")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides, want 12", n)
	}
}

// loopTrack is an invented track: due north at 5 m/s for 20 minutes, 10 s a point,
// 1 degree of latitude at 45 degrees taken as 111.13 km (WGS 84, from memory).
func loopTrack(from time.Time) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`)
	for s := 0; s <= 1200; s += 10 {
		fmt.Fprintf(&b, `<trkpt lat="%.7f" lon="7"><ele>100</ele><time>%s</time></trkpt>`, 45+float64(s)*5/111130, from.Add(time.Duration(s)*time.Second).Format(time.RFC3339))
	}
	return b.String() + "</trkseg></trk></gpx>"
}

// TestImportTrack: a track is measured, becomes a new ride or fills in a logged
// one that it is of, after it was looked at.
func TestImportTrack(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	a := s.upload("north.gpx", loopTrack(time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC))).wants(t, 200, "Which ride is this?", "6.00", "18.0", "Log a new ride of kite-a", "<svg").
		wants(t, 200)
	a.lacks(t, "Fill in the ride", `lat="`)
	key := held(t, a.body)
	s.post("/import/track", "file", key, "ride", "").wants(t, 200, "Is this right?", "6 km", "Keep it")
	s.post("/import/track", "file", key, "ride", "", "step", "change").wants(t, 200, "Log a ride", `value="6 km"`)
	s.post("/import/track", "file", key, "ride", "", "step", "keep").wants(t, 303)
	s.post("/import/track", "file", key, "ride", "", "step", "keep").wants(t, 422, "kept already")
	if n := len(s.records(logbook.KindRide)); n != 13 {
		t.Errorf("there are %d rides, want 13", n)
	}
	// the last ride of the invented log has its distance and no climb
	ride := s.records(logbook.KindRide)[0].(*logbook.Ride)
	a = s.upload("other.gpx", loopTrack(ride.At)).wants(t, 200, "Fill in the ride of")
	key = held(t, a.body)
	s.post("/import/track", "file", key, "ride", ride.ID).wants(t, 200, "The change:", "stays as logged", "climb").lacks(t, "`packwane")
	s.post("/import/track", "file", key, "ride", ride.ID, "step", "keep").wants(t, 200, "This looks wrong") // 6 km are not its 27 km
	s.post("/import/track", "file", key, "ride", ride.ID, "step", "keep", "against", "yes").wants(t, 303)
	filled := s.records(logbook.KindRide)[0].(*logbook.Ride)
	if !filled.ClimbM.OK || filled.DistanceKm != ride.DistanceKm {
		t.Errorf("climb %v, distance %v, want a climb and %v", filled.ClimbM, filled.DistanceKm, ride.DistanceKm)
	}
	s.upload("bad.gpx", "<gpx><trk><trkseg><trkpt lat=\"1\"").wants(t, 422, "Not imported", "bad.gpx")
	s.upload("page.html", "<!doctype html><p>hello").wants(t, 422, "Not imported")
}

// TestHeldFiles: no more files are held than fit, and none for ever.
func TestHeldFiles(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	var keys []string
	for range 10 {
		keys = append(keys, held(t, s.upload("evening.csv", evening()).body))
		s.setClock(s.clock().Add(2 * time.Second)) // for the limit of the rate
	}
	s.post("/import/trace", "file", keys[0]).wants(t, 422, "Choose it again")
	s.setClock(s.clock().Add(31 * time.Minute))
	s.post("/import/trace", "file", keys[9]).wants(t, 422, "Choose it again")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides, want 12", n)
	}
	if text := html.UnescapeString(s.upload("<x>.csv", evening()).body); strings.Contains(text, "<x>") {
		t.Error("the name of a file is not escaped")
	}
}
