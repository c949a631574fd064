package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"

	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/units"
)

// reminders of an invented pack whose name and records are hostile.
func someReminders(t testing.TB, pack string, now time.Time) []report.Reminder {
	t.Helper()
	p := &logbook.Pack{Head: logbook.Head{ID: pack, Rev: 1}, Chemistry: "nmc", Series: logbook.Some(10)}
	all := []logbook.Record{
		p,
		&logbook.Service{Head: logbook.Head{ID: "a,b;c\\d", Rev: 1}, Pack: pack, What: "impact", At: now.AddDate(0, 0, -3)},
		&logbook.Service{Head: logbook.Head{ID: "mend", Rev: 1}, Pack: pack, What: "repair", At: now.AddDate(0, 0, -2)},
		&logbook.Ride{Head: logbook.Head{ID: "r1", Rev: 1}, Pack: pack, At: now.AddDate(0, 0, -5), DistanceKm: logbook.Some(9)},
	}
	h, err := logbook.NewHistory(pack, all, now)
	if err != nil {
		t.Fatal(err)
	}
	return report.DueOf(h, nil, now)
}

var calendarNow = time.Date(2024, 2, 28, 23, 30, 0, 0, time.FixedZone("", -5*3600))

// checkCalendar holds a calendar against RFC 5545: lines end in CRLF and have
// at most 75 octets (3.1), hold no control characters (3.1) and unfold to UTF-8;
// the required properties stand (3.6, 3.6.1: VERSION, PRODID; UID, DTSTAMP;
// 3.6.6: ACTION, TRIGGER and DESCRIPTION of a display alarm).
func checkCalendar(t *testing.T, b []byte) []string {
	t.Helper()
	if !bytes.HasSuffix(b, []byte("\r\n")) || bytes.Count(b, []byte("\n")) != bytes.Count(b, []byte("\r\n")) || bytes.Count(b, []byte("\r")) != bytes.Count(b, []byte("\n")) {
		t.Fatal("lines do not all end in CRLF")
	}
	for _, line := range bytes.Split(b, []byte("\r\n")) {
		if len(line) > 75 {
			t.Errorf("a line of %d octets: %q", len(line), line)
		}
		if !utf8.Valid(line) {
			t.Errorf("a character is cut: %q", line)
		}
		if i := bytes.IndexFunc(line, func(r rune) bool { return r < 0x20 || r == 0x7f }); i >= 0 {
			t.Errorf("a control character: %q", line)
		}
	}
	lines := strings.Split(strings.ReplaceAll(string(b), "\r\n ", ""), "\r\n")
	stack := []string{}
	seen := map[string]int{}
	need := map[string][]string{"VCALENDAR": {"VERSION", "PRODID"}, "VEVENT": {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"}, "VALARM": {"ACTION", "TRIGGER", "DESCRIPTION"}}
	for _, line := range lines[:len(lines)-1] {
		name, value, ok := strings.Cut(line, ":")
		name, _, _ = strings.Cut(name, ";")
		switch {
		case !ok:
			t.Errorf("no property: %q", line)
		case name == "BEGIN":
			stack = append(stack, value)
			clear(seen)
		case name == "END":
			if stack[len(stack)-1] != value {
				t.Fatalf("END:%s within %v", value, stack)
			}
			for _, p := range need[value] {
				if value != "VCALENDAR" && value != "VEVENT" && seen[p] != 1 {
					t.Errorf("%s has %d %s", value, seen[p], p)
				}
			}
			stack = stack[:len(stack)-1]
		default:
			seen[name]++
		}
	}
	if len(stack) != 0 {
		t.Errorf("not closed: %v", stack)
	}
	for _, p := range append(need["VCALENDAR"], need["VEVENT"]...) {
		if !slices.ContainsFunc(lines, func(l string) bool { return strings.HasPrefix(l, p+":") || strings.HasPrefix(l, p+";") }) {
			t.Errorf("no %s", p)
		}
	}
	return lines
}

func TestCalendar(t *testing.T) {
	for _, pack := range []string{"kite-a", "comma, semicolon; back\\slash: \"quoted\"", "line\nbreak\x07\u2028 and é日本語" + strings.Repeat("長", 60)} {
		list := someReminders(t, pack, calendarNow)
		if len(list) < 2 {
			t.Fatalf("%d reminders", len(list))
		}
		var b bytes.Buffer
		if err := calendar(list, calendarNow, units.Metric).SerializeTo(&b, ics.WithNewLine("\r\n")); err != nil {
			t.Fatal(err)
		}
		lines := checkCalendar(t, b.Bytes())
		// Read back by a parser, every text is what it was.
		cal, err := ics.ParseCalendar(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		events := cal.Events()
		if len(events) != len(list) {
			t.Fatalf("%d entries of %d reminders", len(events), len(list))
		}
		for i, e := range events {
			if e.Id() != list[i].UID {
				t.Errorf("uid %s, want %s", e.Id(), list[i].UID)
			}
			if got, want := e.GetProperty(ics.ComponentPropertySummary).Value, clean(list[i].Action.Title()+": "+pack); got != want {
				t.Errorf("summary %q, want %q", got, want)
			}
			if got, want := e.GetProperty(ics.ComponentPropertyDescription).Value, calendarText(list[i], units.Metric); got != want {
				t.Errorf("description %q, want %q", got, want)
			}
			if len(e.Alarms()) == 0 {
				t.Error("an entry without an alarm")
			}
		}
		// The day is that of the rider, across a leap day and whatever UTC says.
		if !slices.Contains(lines, "DTSTART;VALUE=DATE:20240228") || !slices.Contains(lines, "DTSTAMP:20240229T043000Z") {
			t.Errorf("%q", lines)
		}
	}
}

// The next day and with more in the log the same reminders keep their UIDs.
func TestCalendarKeepsUIDs(t *testing.T) {
	uid := regexp.MustCompile(`UID:(\S+)`)
	var before []string
	for day := range 3 {
		list := someReminders(t, "kite-a", calendarNow)
		var b bytes.Buffer
		calendar(list, calendarNow.AddDate(0, 0, day), units.Imperial).SerializeTo(&b, ics.WithNewLine("\r\n"))
		now := uid.FindAllString(b.String(), -1)
		if day > 0 && !slices.Equal(before, now) {
			t.Errorf("%v, before %v", now, before)
		}
		before = now
	}
}

func FuzzCalendar(f *testing.F) {
	f.Add("kite-a", "r1")
	f.Add("a\r\nBEGIN:VEVENT", "\\n;,")
	f.Fuzz(func(t *testing.T, pack, id string) {
		if !utf8.ValidString(pack) || !utf8.ValidString(id) || pack == "" || len(pack)+len(id) > 400 {
			t.Skip()
		}
		list := []report.Reminder{{Pack: pack, Action: report.Inspect, Due: report.Date{Time: calendarNow}, Do: id, UID: "x", Evidence: report.Evidence{Records: []string{id}}}}
		var b bytes.Buffer
		if err := calendar(list, calendarNow, units.Metric).SerializeTo(&b, ics.WithNewLine("\r\n")); err != nil {
			t.Fatal(err)
		}
		checkCalendar(t, b.Bytes())
		cal, err := ics.ParseCalendar(&b)
		if err != nil || len(cal.Events()) != 1 {
			t.Fatalf("%v, %d entries", err, len(cal.Events()))
		}
	})
}

func TestMarkdownEscapes(t *testing.T) {
	for in, want := range map[string]string{
		"kite-a":          "kite-a",
		"*bold* _it_ `c`": `\*bold\* \_it\_ \` + "`c\\`",
		"<b>&amp;</b>":    `\<b\>\&amp;\</b\>`,
		"[x](y)\n# head":  `\[x\](y) \# head`,
	} {
		if got := markdown(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// On a terminal the stops stand first with their caution, nothing is wider
// than 80 columns (call checks), and the bell of a hostile id does not ring.
func TestDueOnATerminal(t *testing.T) {
	dir := t.TempDir()
	store, file := filepath.Join(dir, "log.store"), filepath.Join(dir, "log.jsonl")
	lines := `{"record":"board","id":"heron","service_every_days":30}
{"record":"pack","id":"heron-a","board":"heron","chemistry":"nmc","series":10}
{"record":"ride","id":"a","pack":"heron-a","at":"2020-01-02T10:00:00Z","distance_km":8}
{"record":"charge","id":"frost","pack":"heron-a","at":"2020-01-03T10:00:00Z","pack_c":-4}
{"record":"service","id":"a-rather-long-identifier-that-somebody-gave-a-record","pack":"heron-a","kind":"water","at":"2020-01-04T10:00:00Z"}
`
	if err := os.WriteFile(file, []byte(lines), 0o644); err != nil {
		t.Fatal(err)
	}
	if status, _, errs := call(t, store, "", "import", file); status != statusDone {
		t.Fatal(errs)
	}
	status, out, _ := call(t, store, "", "due", "--exit-code", "--no-color")
	if status != statusOverdue || !strings.HasPrefix(out, "STOP RIDING  heron-a") || !strings.Contains(out, "local codes") {
		t.Errorf("status %d: %s", status, out)
	}
	if stop, frost := strings.Index(out, "STOP RIDING"), strings.Index(out, "inspect  heron-a"); frost < stop {
		t.Errorf("the inspection is not listed, or before the stop: %s", out)
	}
	if status, out, _ := call(t, store, "", "due", "--rules"); status != statusDone || !strings.Contains(out, "common practice, no source") {
		t.Errorf("rules: status %d, %s", status, out)
	}
	if status, out, _ := call(t, store, "", "audit"); status != statusDone || !strings.Contains(out, "every record fits the rest") {
		t.Errorf("audit: status %d, %s", status, out)
	}
}
