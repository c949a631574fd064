package web_test

import (
	"bytes"
	"mime/multipart"
	"strings"
	"testing"

	"packwane/health/logbook"
)

// upload sends a file as the page's form does.
func (s *site) upload(name, content string) answer {
	s.t.Helper()
	return s.uploadWith(name, content)
}

// uploadWith sends other fields of the form before the file; they come in pairs.
func (s *site) uploadWith(name, content string, fields ...string) answer {
	s.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for i := 0; i+1 < len(fields); i += 2 {
		w.WriteField(fields[i], fields[i+1])
	}
	part, err := w.CreateFormFile("file", name)
	if err != nil {
		s.t.Fatal(err)
	}
	part.Write([]byte(content))
	w.Close()
	return s.do("POST", "/import", b.String(), "Content-Type", w.FormDataContentType(), "Origin", s.url)
}

// TestImport: a file goes in whole or not at all, twice changes nothing, and it
// can be taken back.
func TestImport(t *testing.T) {
	s := newSite(t, nil)
	a := s.upload("rides.jsonl", kite).wants(t, 200, "rides.jsonl: added 1 board, 1 pack, 12 charges, 12 rides", "Undo it")
	s.upload("rides.jsonl", kite).wants(t, 200, "unchanged 1 board, 1 pack, 12 charges, 12 rides").lacks(t, "Undo it")
	s.upload("more.csv", "record,pack,at,distance_km\nride,kite-a,2026-05-01T10:00:00Z,abc\n").wants(t, 422, "Not imported", "more.csv:2: distance_km", "Nothing was changed")
	s.upload("more.csv", "record,pack,at,distance_km\nride,kite-a,2026-05-01T10:00:00Z,9\nride,nobody,2026-05-01T10:00:00Z,9\n").wants(t, 422, "nobody")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides, want 12", n)
	}
	s.upload("empty.csv", "").wants(t, 422, "empty.csv: holds no records")
	s.post("/import").wants(t, 400)
	s.send("/undo", hidden(t, a.body, "/undo")).wants(t, 303)
	if n := len(s.records(logbook.KindRide)); n != 0 {
		t.Errorf("there are %d rides after undoing, want none", n)
	}
}

// TestImportNames: the name that comes with a file is shown and no more.
func TestImportNames(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	for _, name := range []string{"../../../etc/passwd", `C:\x\<b>.csv`, "a\x00b", strings.Repeat("n", 300), "."} {
		a := s.upload(name, "record,pack\nride,\n")
		if a.status != 422 && a.status != 400 {
			t.Errorf("%q gives %d", name, a.status)
		}
		sound(t, "/import", a.body)
		a.lacks(t, "etc/passwd", "<b>")
	}
}

// TestImportTooLarge: what is larger than the page takes is refused, and leaves
// nothing.
func TestImportTooLarge(t *testing.T) {
	if testing.Short() {
		t.Skip("65 MiB are left out of a short run")
	}
	s := newSite(t, nil)
	s.fill(kite)
	line := `{"record":"ride","pack":"kite-a","at":"2026-05-01T10:00:00Z","note":"` + strings.Repeat("n", 4000) + `"}` + "\n"
	s.upload("large.jsonl", strings.Repeat(line, (65<<20)/len(line))).wants(t, 413, "Too large")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides, want 12", n)
	}
}

// TestExport: what is exported goes in again, revisions and all.
func TestExport(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.post("/record/remove", "record", "ride", "id", "ride-c", "rev", "1").wants(t, 303)
	s.get("/export").wants(t, 200, "/export/file?as=csv")
	for path, want := range map[string]string{
		"/export/file": "added 1 board, 1 pack, 12 charges, 12 rides", "/export/file?as=now": "added 1 board, 1 pack, 12 charges, 11 rides", "/export/file?as=csv": "added 1 board, 1 pack, 12 charges, 11 rides",
	} {
		a := s.get(path).wants(t, 200)
		other := newSite(t, nil)
		other.upload("log", a.body).wants(t, 200, want)
		if n := len(other.records(logbook.KindRide)); n != 11 {
			t.Errorf("%s: there are %d rides, want 11", path, n)
		}
	}
}
