package cli

import (
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/simulate"
	"packwane/health/units"
	"packwane/store"
)

// demoLog makes a store of the demo's records up to the moment at which the
// scripts run.
func demoLog(t *testing.T) string {
	t.Helper()
	now, err := time.Parse(time.RFC3339, scriptNow)
	if err != nil {
		t.Fatal(err)
	}
	records, _, err := simulate.Demo(now)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "demo.store")
	if _, err := store.Import(path, entriesOf(records, "test"), "test", now); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestAnswersOnTerminal: every answer fits 80 columns (call checks that), says
// the kilometres first, and each mark has its note and each note its mark.
func TestAnswersOnTerminal(t *testing.T) {
	path := demoLog(t)
	t.Setenv("NO_COLOR", "1")
	for _, args := range [][]string{
		{"health", "wren-pack"}, {"health", "otter-pack", "--units", "imperial"}, {"health", "otter-pack", "--as-of", "2024-06-01"},
		{"outlook", "otter-pack", "--months", "120", "--units", "imperial"}, {"outlook", "otter-pack", "--as-of", "2024-05-20"},
		{"hindcast", "otter-pack"}, {"hindcast", "otter-pack", "--as-of", "2024-05-20"},
	} {
		status, out, errs := call(t, path, "", args...)
		if status != statusDone || errs != "" {
			t.Errorf("%v: status %d, %q", args, status, errs)
		}
		if strings.Contains(out, "NaN") || strings.Contains(out, "Inf") || strings.Contains(out, "%!") {
			t.Errorf("%v prints\n%s", args, out)
		}
		checkMarks(t, args, out)
		if args[0] == "health" {
			km, ah := strings.Index(out, "on average"), strings.Index(out, "capacity")
			if km < 0 || km > ah {
				t.Errorf("%v: the range does not come first\n%s", args, out)
			}
		}
	}
}

func checkMarks(t *testing.T, args []string, out string) {
	t.Helper()
	marked, noted := map[string]bool{}, map[string]bool{}
	for _, line := range strings.Split(out, "\n") {
		for i, m := range regexp.MustCompile(`\[\d+\]`).FindAllStringIndex(line, -1) {
			if i == 0 && m[0] == 0 {
				noted[line[m[0]:m[1]]] = true
			} else {
				marked[line[m[0]:m[1]]] = true
			}
		}
	}
	for m := range marked {
		if !noted[m] {
			t.Errorf("%v: the mark %s has no note\n%s", args, m, out)
		}
	}
	for m := range noted {
		if !marked[m] {
			t.Errorf("%v: the note %s has no mark\n%s", args, m, out)
		}
	}
}

// TestHealthWarnsRider: a pack into which water got says so on top of what it
// says of range.
func TestHealthWarnsRider(t *testing.T) {
	path := demoLog(t)
	for _, name := range []string{"health", "outlook"} {
		_, out, _ := call(t, path, "", name, "otter-pack", "--as-of", "2026-04-01")
		stop, km := strings.Index(out, "STOP RIDING"), strings.Index(out, "km")
		if stop < 0 || stop > km || !strings.Contains(out, "water") {
			t.Errorf("%s:\n%s", name, out)
		}
	}
}

// TestDemoSays: the demo says that it is invented, shows the truth, and its
// next calls work when they are pasted.
func TestDemoSays(t *testing.T) {
	a, o, e := newTestApp("", true)
	dir := filepath.Join(t.TempDir(), "a demo's folder")
	status := Main([]string{"demo", "--dir", dir}, a.streams, func() time.Time { return a.now })
	out := strings.NewReplacer("\x1b[1m", "", "\x1b[1;31m", "", "\x1b[0m", "").Replace(o.String())
	if status != statusDone || e.String() != "" {
		t.Fatalf("status %d, %s", status, e)
	}
	for _, want := range []string{"all of it invented", "The truth behind the invention", "(invented)", "Try next", "Your own log was not touched"} {
		if !strings.Contains(out, want) {
			t.Errorf("the demo does not say %q", want)
		}
	}
	if n := strings.Count(out, "within the bounds"); n < 7 {
		t.Errorf("%d of 10 truths lie within their 90 %% bounds", n)
	}
	calls := regexp.MustCompile(`(?m)^  \S.* --store ('.*?'|\S+) (?:\\\n +)?(.+)$`).FindAllStringSubmatch(out, -1)
	if len(calls) < 4 {
		t.Fatalf("the demo names %d calls:\n%s", len(calls), out)
	}
	for _, m := range calls {
		args := append([]string{"--store", filepath.Join(dir, demoStore)}, shellWords(m[2])...)
		if got := shellWords(m[1]); len(got) != 1 || got[0] != args[1] {
			t.Errorf("the call names the store %q, want %q", got, args[1])
		}
		b, _, e := newTestApp("", false)
		if status := Main(args, b.streams, func() time.Time { return b.now }); status != statusDone {
			t.Errorf("%v: status %d, %s", args, status, e)
		}
	}
}

// shellWords takes a line apart as a shell does for what quoted writes.
func shellWords(line string) []string {
	var words []string
	word, in, open := "", false, false
	letters := []rune(line)
	for i := 0; i < len(letters); i++ {
		switch c := letters[i]; {
		case c == '\'':
			in, open = true, !open
		case c == '\\' && !open:
			i++
			word += string(letters[i])
		case c == ' ' && !open:
			if in {
				words = append(words, word)
			}
			word, in = "", false
		default:
			word, in = word+string(c), true
		}
	}
	if in {
		words = append(words, word)
	}
	return words
}

func TestQuoted(t *testing.T) {
	for _, word := range []string{"plain", "/tmp/a-b_c.store", "two words", "it's", "", "$HOME", "a;b", "ünicode"} {
		if got := shellWords(quoted(word)); len(got) != 1 || got[0] != word {
			t.Errorf("quoted(%q) = %s, which a shell takes for %q", word, quoted(word), got)
		}
	}
}

func TestStrip(t *testing.T) {
	s := newStrip(11)
	s.see(0)
	s.see(10)
	s.level = 2
	for _, tc := range []struct {
		low, middle, high float64
		want              string
	}{
		{4, 6, 8, "  │ ──●──"}, {0, 0, 0, "● │"}, {10, 10, 10, "  │       ●"}, {1, 2, 3, " ─●─"}, {0, 5, 10, "─────●─────"},
	} {
		if got := s.line(tc.low, tc.middle, tc.high); got != tc.want {
			t.Errorf("%v: %q, want %q", tc, got, tc.want)
		}
	}
	if got := newStrip(5).line(3, 3, 3); got != "  ●" {
		t.Errorf("without a scale: %q", got)
	}
}

// TestFigures: open bounds, unknown figures, units without a field, and notes
// that two rows share.
func TestFigures(t *testing.T) {
	low, high := 7.25, 9.75
	warnings := []report.Warning{{Code: "no_fit", Text: "not enough rides"}, {Code: "odd", Text: "something is odd"}}
	f := newFigures(units.Metric, warnings)
	f.head("Head")
	f.estimate("both", &report.Estimate{Value: 8.5, Low: &low, High: &high}, units.Km)
	f.estimate("open", &report.Estimate{Value: 8.5, Low: &low}, units.Km)
	f.estimate("none", nil, units.Km, "no_fit")
	f.estimate("neither", nil, units.Ah, "no_fit", "absent_code")
	f.lines([]report.Line{{Label: "unit", Estimate: &report.Estimate{Value: 8.5, Low: &low, High: &high}, Unit: units.Count, Per: "cycles"}}, nil)
	f.given(report.Given{Label: "given", Value: 12, Unit: units.Km, Remark: "met"})
	day := report.Date{Time: time.Date(2027, 5, 3, 0, 0, 0, 0, time.UTC)}
	f.add(figureLine{label: "date", Rounded: (&report.DateEstimate{Value: day, Low: &day}).Rounded()})
	a, out, _ := newTestApp("", false)
	if err := f.writeAligned(a); err != nil {
		t.Fatal(err)
	}
	want := `
Head
  both                          8.5 km       7.2 to 9.8
  open                          8.5 km       7.2 or more
  none                      unknown [1]
  neither                   unknown [1]
  unit                          8.5 cycles   7.2 to 9.8
  given                          12 km       met
  date                      3 May 2027       3 May 2027 or later

[1] not enough rides

Note: something is odd
`
	if out.String() != want {
		t.Errorf("got\n%s\nwant\n%s", out, want)
	}
	out.Reset()
	if err := f.writeTabs(a); err != nil {
		t.Fatal(err)
	}
	for i, line := range strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n") {
		if strings.Count(line, "\t") != 5 {
			t.Errorf("line %d: %q", i, line)
		}
	}
}

func TestFileName(t *testing.T) {
	for _, tc := range []struct{ id, want string }{
		{"kite-a", "kite-a"}, {"../etc", "_._etc"}, {".hidden", "_hidden"}, {"a/b\\c:d", "a_b_c_d"}, {"Ä 1", "__1"}, {strings.Repeat("x", 300), strings.Repeat("x", 100)},
	} {
		if got := fileName(tc.id); got != tc.want || filepath.Base(got) != got {
			t.Errorf("fileName(%q) = %q, want %q", tc.id, got, tc.want)
		}
	}
}

// TestPackWords: what is not known of a pack is left out.
func TestPackWords(t *testing.T) {
	h := &logbook.History{Pack: &logbook.Pack{Head: logbook.Head{ID: "reed-a"}}}
	if got := packWords(h); got != "reed-a, nothing logged yet" {
		t.Errorf("%q", got)
	}
	h.Pack.Chemistry, h.Pack.Series, h.Pack.Parallel = "nmc", logbook.Some(10), logbook.Some(4)
	h.Checks = []*logbook.Check{{}}
	if got := packWords(h); got != "reed-a, nmc, 10s4p, 1 check" {
		t.Errorf("%q", got)
	}
}
