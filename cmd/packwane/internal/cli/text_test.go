package cli

import (
	"bytes"
	"strings"
	"testing"
	"unicode"
)

// TestCleanSteersNothing: no control character of any kind gets through, and
// nothing else is changed.
func TestCleanSteersNothing(t *testing.T) {
	for _, tc := range []struct{ in, want string }{
		{"plain, ±5 °C 日本", "plain, ±5 °C 日本"},
		{"a\x1b[31mred\x07", "a\uFFFD[31mred\uFFFD"},
		{"two\nlines\tand\ra tab", "two lines and a tab"},
		{"c1 \u009b31m", "c1 \uFFFD31m"},
		{"turned \u202etxt.exe", "turned \uFFFDtxt.exe"},
		{"line\u2028break", "line break"},
		{"del\x7f", "del\uFFFD"},
	} {
		if got := clean(tc.in); got != tc.want {
			t.Errorf("clean(%q) = %q, want %q", tc.in, got, tc.want)
		}
	}
}

func FuzzClean(f *testing.F) {
	f.Add("a\x1b]0;title\x07b")
	f.Add("\u202e\u009b")
	f.Fuzz(func(t *testing.T, s string) {
		got := clean(s)
		if strings.ContainsFunc(got, func(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) }) {
			t.Errorf("clean(%q) = %q", s, got)
		}
		if clean(got) != got {
			t.Errorf("clean twice differs: %q", got)
		}
	})
}

func TestFitAndPad(t *testing.T) {
	for _, tc := range []struct {
		in   string
		n    int
		want string
	}{
		{"short", 5, "short"}, {"too long", 5, "too…"}, {"a, b", 3, "a…"}, {"日本語", 4, "日…"}, {"", 3, ""},
		{"e\u0301e\u0301e\u0301", 2, "e\u0301…"}, // é as two runes is one column
	} {
		got := fit(tc.in, tc.n)
		if got != tc.want || columns(got) > tc.n {
			t.Errorf("fit(%q, %d) = %q, want %q", tc.in, tc.n, got, tc.want)
		}
	}
	if got := pad("日本", 6, true); got != "  日本" {
		t.Errorf("pad: %q", got)
	}
}

func FuzzWrap(f *testing.F) {
	f.Add("[1] ", "some words of a remark that does not fit on one line", 30)
	f.Fuzz(func(t *testing.T, first, s string, n int) {
		if n < leastColumns || n > 200 || columns(clean(first)) > 20 {
			return
		}
		first = clean(first)
		got := wrap(first, s, n)
		var words []string
		for _, line := range strings.Split(strings.TrimSuffix(got, "\n"), "\n") {
			if columns(line) > n && len(strings.Fields(line)) > 1+len(strings.Fields(first)) {
				t.Errorf("line of %d columns: %q", columns(line), line)
			}
			words = append(words, strings.Fields(line)...)
		}
		want := append(strings.Fields(first), strings.Fields(clean(s))...)
		if !strings.HasSuffix(first, " ") && len(strings.Fields(clean(s))) > 0 {
			return // the first word stands right behind it
		}
		if strings.Join(words, " ") != strings.Join(want, " ") {
			t.Errorf("words changed: %q", got)
		}
	})
}

func TestTable(t *testing.T) {
	tab := newTable("id", ">km", "what")
	tab.add("a", "9.5", strings.Repeat("word ", 30))
	tab.add("long-id", "123.4", "x\ty\x1b")
	var out bytes.Buffer
	if err := tab.write(&out, true, 40, palette{}); err != nil {
		t.Fatal(err)
	}
	want := "id          km  what\n" +
		"a          9.5  word word word word wor…\n" +
		"long-id  123.4  x y\uFFFD\n"
	if out.String() != want {
		t.Errorf("got\n%swant\n%s", out.String(), want)
	}
	out.Reset()
	if err := tab.write(&out, false, 40, palette{}); err != nil {
		t.Fatal(err)
	}
	for i, line := range strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n") {
		if n := strings.Count(line, "\t"); n != 2 {
			t.Errorf("line %d has %d tabs: %q", i, n, line)
		}
	}
	if !strings.Contains(out.String(), strings.TrimSpace(strings.Repeat("word ", 30))) {
		t.Errorf("a cell was cut in a pipe: %q", out.String())
	}
}

func TestFootnotes(t *testing.T) {
	var f footnotes
	if f.mark("no full charge yet") != "[1]" || f.mark("") != "" || f.mark("no odometer") != "[2]" || f.mark("no full charge yet") != "[1]" {
		t.Errorf("marks: %+v", f)
	}
	var out bytes.Buffer
	if err := f.write(&out, 20); err != nil {
		t.Fatal(err)
	}
	if want := "[1] no full charge\n    yet\n[2] no odometer\n"; out.String() != want {
		t.Errorf("got %q, want %q", out.String(), want)
	}
}

// TestColour: inks only on a terminal that takes them, and none under NO_COLOR
// or --no-color.
func TestColour(t *testing.T) {
	env := map[string]string{}
	s := Streams{OutTerminal: true, Getenv: func(k string) string { return env[k] }}
	a := &app{streams: s}
	if !a.ink().on {
		t.Error("a terminal takes colour")
	}
	a.noColor = true
	if a.ink().on {
		t.Error("--no-color")
	}
	a.noColor = false
	env["NO_COLOR"] = "1"
	if a.ink().on {
		t.Error("NO_COLOR")
	}
	env["NO_COLOR"], env["TERM"] = "", "dumb"
	if a.ink().on {
		t.Error("a dumb terminal")
	}
	env["TERM"], a.streams.OutTerminal = "", false
	if a.ink().on || strings.Contains(a.ink().head("x"), "\x1b") {
		t.Error("a pipe")
	}
}
