package cli

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"
)

// hostileTexts are names and notes that break out of an output whose escaping
// has a hole.
var hostileTexts = []string{
	`<script>alert(1)</script>"><img src=x onerror=alert(1)>`,
	`</text></svg><svg onload=alert(1)>]]><x>&lt;b&gt;{{.}}`,
	`=cmd|' /C calc'!A0`,
	`[a](javascript:x) *b* # c | d;X-A=1:x,y`,
	"a\u202eb \\n\\t\" BEGIN:VALARM",
}

// TestHostileTexts: whatever a board, a pack, a record and a note are called, no
// output takes a piece of it for its own. All of it is invented.
func TestHostileTexts(t *testing.T) {
	for i, text := range hostileTexts {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			h := &hostileRun{t: t, dir: t.TempDir()}
			h.fill(text)
			h.lookThrough(text)
		})
	}
}

type hostileRun struct {
	t   *testing.T
	dir string
}

// fill imports a log of a few weeks in which everything is called text.
func (h *hostileRun) fill(text string) {
	q, err := json.Marshal(text)
	if err != nil {
		h.t.Fatal(err)
	}
	note := q
	if text == hostileTexts[0] { // a note may hold what moves a terminal's cursor down or aside
		note = []byte(`"one\n\ttwo\nBEGIN:VEVENT"`)
	}
	var b strings.Builder
	fmt.Fprintf(&b, `{"record":"board","id":%s,"name":%[1]s,"tyre":%[1]s,"service_every_km":50,"note":%s}`+"\n", q, note)
	fmt.Fprintf(&b, `{"record":"pack","id":%s,"name":%[1]s,"board":%[1]s,"cell_model":%[1]s,"ref_route":%[1]s,"chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"cell_full_v":4.2,"limit_v":31,"note":%s}`+"\n", q, note)
	for day := range 12 {
		at := time.Date(2026, 3, 1+2*day, 17, 0, 0, 0, time.UTC)
		fmt.Fprintf(&b, `{"record":"ride","id":%s,"pack":%s,"board":%[2]s,"at":%q,"distance_km":%d,"odometer_km":%d,"discharged_ah":9.5,"discharged_wh":%d,"route":%[2]s,"rider":%[2]s,"session":%[2]s,"stop":"limit","note":%[7]s}`+"\n",
			quotedWith(text, day), q, at.Format(time.RFC3339), 20+day%3, 100+23*day, 330+day, note)
		fmt.Fprintf(&b, `{"record":"charge","id":%s,"pack":%s,"at":%q,"charged_ah":9.6,"full":true,"meter":%[2]s,"note":%[4]s}`+"\n", quotedWith(text, day), q, at.Add(5*time.Hour).Format(time.RFC3339), note)
	}
	fmt.Fprintf(&b, `{"record":"service","id":%s,"pack":%[1]s,"at":"2026-04-01T10:00:00Z","kind":"water","note":%s}`+"\n", q, note)
	if err := os.WriteFile(filepath.Join(h.dir, "log.jsonl"), []byte(b.String()), 0o666); err != nil {
		h.t.Fatal(err)
	}
	h.run(false, "import", filepath.Join(h.dir, "log.jsonl"))
}

func quotedWith(text string, n int) []byte {
	q, _ := json.Marshal(fmt.Sprint(text, n))
	return q
}

// run runs the program and returns what it prints; a status other than 0 and 3
// fails the test.
func (h *hostileRun) run(terminal bool, args ...string) string {
	h.t.Helper()
	a, out, errs := newTestApp("", terminal)
	args = append([]string{"--store", filepath.Join(h.dir, "log.store")}, args...)
	if status := Main(args, a.streams, func() time.Time { return a.now }); status != statusDone && status != statusOverdue {
		h.t.Fatalf("%q: status %d: %s", args, status, errs)
	}
	return out.String()
}

func (h *hostileRun) lookThrough(text string) {
	ride := fmt.Sprint(text, 3)
	for _, call := range [][]string{
		{"list"}, {"list", "--", text}, {"pack", "list"}, {"board", "list"}, {"pack", "show", "--", text}, {"health", "--", text}, {"outlook", "--", text}, {"due"}, {"audit"},
		{"history", "--kind", "ride", "--", ride}, {"history"}, {"explain", "--", ride}, {"hindcast", "--", text},
	} {
		h.steersNothing(call, h.run(true, append([]string{"--no-color"}, call...)...))
	}
	h.columns("list", h.run(false, "list"))
	h.columns("due", h.run(false, "due"))
	h.columns("audit", h.run(false, "audit"))
	for _, call := range [][]string{{"list"}, {"due"}, {"health", "--", text}} {
		if out := h.run(false, append([]string{"--json"}, call...)...); !json.Valid([]byte(out)) {
			h.t.Errorf("%q: no JSON: %s", call, out)
		}
	}
	h.markdown(h.run(false, "due", "--markdown"))
	h.calendar(h.run(false, "due", "--ics", "-"))
	h.pictures(text)
	h.roundTrip()
}

// steersNothing: a terminal gets no character that would move it.
func (h *hostileRun) steersNothing(call []string, out string) {
	for _, c := range out {
		if c != '\n' && unicode.IsControl(c) || unicode.Is(unicode.Bidi_Control, c) {
			h.t.Errorf("%q sends %U to the terminal", call, c)
			return
		}
	}
}

// columns: every row has the cells of the headings.
func (h *hostileRun) columns(name, out string) {
	lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
	for _, line := range lines {
		if strings.Count(line, "\t") != strings.Count(lines[0], "\t") {
			h.t.Errorf("%s: the row %q has other cells than %q", name, line, lines[0])
		}
	}
}

// markdown: nothing in it is HTML, a link, a heading or an item of its own.
func (h *hostileRun) markdown(out string) {
	for _, line := range strings.Split(out, "\n") {
		if line != "" && !strings.HasPrefix(line, "# Due as of ") && !strings.HasPrefix(line, "- [ ] **") {
			h.t.Errorf("Markdown has a line %q", line)
		}
		plain := strings.NewReplacer(`\\`, "", `\<`, "", `\[`, "", `\*`, "", `\&`, "", "- [ ]", "").Replace(line)
		if strings.ContainsAny(plain, "<[&") {
			h.t.Errorf("Markdown holds markup: %q", line)
		}
	}
}

// calendar: unfolded by RFC 5545, 3.1, every line is a property that the program
// writes, and each component ends.
func (h *hostileRun) calendar(out string) {
	known := map[string]bool{}
	for _, name := range strings.Fields(`BEGIN END VERSION PRODID CALSCALE METHOD X-WR-CALNAME NAME UID DTSTAMP LAST-MODIFIED DTSTART DTEND SUMMARY DESCRIPTION CATEGORIES TRANSP PRIORITY ACTION TRIGGER`) {
		known[name] = true
	}
	open := 0
	for _, line := range strings.Split(strings.ReplaceAll(out, "\r\n ", ""), "\r\n") {
		name := line[:max(0, strings.IndexAny(line, ";:"))]
		if line != "" && !known[name] || strings.ContainsAny(line, "\n\r") {
			h.t.Errorf("the calendar has a line %q", line)
		}
		switch name {
		case "BEGIN":
			open++
		case "END":
			open--
		}
	}
	if begun := strings.Count("\r\n"+out, "\r\nBEGIN:VEVENT"); open != 0 || begun != strings.Count(out, "\r\nUID:") || begun == 0 {
		h.t.Errorf("the calendar has %d entries and %d open components", begun, open)
	}
}

// pictures: neither the page nor a picture holds an element or an attribute that
// runs anything or leads elsewhere.
func (h *hostileRun) pictures(text string) {
	page, charts := filepath.Join(h.dir, "page.html"), filepath.Join(h.dir, "charts")
	h.run(false, "report", "--out", page, "--", text)
	h.run(false, "chart", "--format", "svg", "--out", charts, "--", text)
	names, err := filepath.Glob(filepath.Join(charts, "*.svg"))
	if err != nil || len(names) == 0 {
		h.t.Fatalf("no pictures (%v)", err)
	}
	for _, name := range append(names, page) {
		if filepath.Dir(name) != charts && name != page {
			h.t.Errorf("%s stands outside its folder", name)
		}
		body, err := os.ReadFile(name)
		if err != nil {
			h.t.Fatal(err)
		}
		h.sound(filepath.Base(name), body)
	}
}

func (h *hostileRun) sound(name string, body []byte) {
	d := xml.NewDecoder(bytes.NewReader(body))
	d.Strict, d.AutoClose, d.Entity = strings.HasSuffix(name, ".svg"), xml.HTMLAutoClose, xml.HTMLEntity
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			h.t.Errorf("%s does not parse: %v", name, err)
			return
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		if n := e.Name.Local; n == "script" || n == "img" || n == "x" || n == "iframe" || n == "b" && strings.HasSuffix(name, ".svg") {
			h.t.Errorf("%s holds an element %q", name, n)
		}
		for _, a := range e.Attr {
			if strings.HasPrefix(strings.ToLower(a.Name.Local), "on") || strings.HasPrefix(strings.ToLower(strings.TrimSpace(a.Value)), "javascript:") {
				h.t.Errorf("%s: %s has %s=%q", name, e.Name.Local, a.Name.Local, a.Value)
			}
		}
	}
}

// roundTrip: as CSV and as JSON Lines the log comes back as it was.
func (h *hostileRun) roundTrip() {
	lines := filepath.Join(h.dir, "out.jsonl")
	h.run(false, "export", lines)
	h.run(false, "export", filepath.Join(h.dir, "out.csv"))
	again := &hostileRun{t: h.t, dir: h.t.TempDir()}
	again.run(false, "import", filepath.Join(h.dir, "out.csv"))
	want, err := os.ReadFile(lines)
	if got := again.run(false, "export"); err != nil || got != string(want) {
		h.t.Errorf("by way of CSV the log is another (%v)", err)
	}
}
