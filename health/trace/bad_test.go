package trace

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"
)

// TestBadInput gives each kind of input that cannot be used and wants one line
// that names where, and what would be accepted.
func TestBadInput(t *testing.T) {
	rows := outing().rows[:2000]
	good := plain.write(rows)
	lines := strings.Split(strings.TrimSuffix(good, "\n"), "\n")
	with := func(change func(l []string) []string) string {
		return strings.Join(change(append([]string(nil), lines...)), "\n") + "\n"
	}
	tests := map[string]struct {
		text string
		opts []func(*Options)
		want []string // parts of the line
		row  int64
		col  string
	}{
		"text in a number": {text: with(func(l []string) []string {
			l[1499] = strings.Replace(l[1499], ",4", ",x4", 1)
			return l
		}), want: []string{"want a number"}, row: 1500, col: "voltage_v"},
		"a word in a time": {text: with(func(l []string) []string {
			l[20] = "soon,40.1,0,20"
			return l
		}), want: []string{`"soon"`, "want a number"}, row: 21, col: "time_s"},
		"thousands": {text: with(func(l []string) []string {
			l[20] = `20,"1,234.5",0,20`
			return l
		}), want: []string{"want a number"}, row: 21, col: "voltage_v"},
		"a quotation without end": {text: with(func(l []string) []string {
			l[20] = `20,40.1,0,"20`
			return l
		}), want: []string{`"\"20"`, "want a number"}, row: 21, col: "temp_c"},
		"an infinite current": {text: with(func(l []string) []string {
			l[20] = "20,40.1,inf,20"
			return l
		}), want: []string{`"inf"`, "want a number"}, row: 21, col: "current_a"},
		"a current beyond all numbers": {text: with(func(l []string) []string {
			l[20] = "20,40.1,1e999,20"
			return l
		}), want: []string{"want a number"}, row: 21, col: "current_a"},
		"a row that is short": {text: with(func(l []string) []string {
			l[700] = "700,40.1"
			return l
		}), want: []string{"ends before this column"}, row: 701, col: "current_a"},
		"cut in the middle of a row":       {text: good[:len(good)-15], want: []string{"cut in the middle", "--skip-bad"}, row: 2001, col: "current_a"},
		"cut in a column that is not read": {text: "time_s,voltage_v,current_a,fan,door\n1,40,1,2,3\n2,40,2,2,3\n3,39,3,2", want: []string{"cut in the middle"}, row: 4, col: "door"},
		"a line without end":               {text: "time_s,voltage_v,current_a\n1,40,0\n" + strings.Repeat("7", 300_000), want: []string{"a line longer than 128 KiB"}, row: 3},
		"no current": {text: csvForm{header: "time_s,voltage_v,temp_c", row: func(s sample) string {
			return fmt.Sprintf("%.1f,%.3f,%.1f", s.t, s.v, s.tempC)
		}}.write(rows), want: []string{"no column could be the current", "current="}, row: 1},
		"no voltage": {text: csvForm{header: "time_s,current_a,temp_c", row: func(s sample) string {
			return fmt.Sprintf("%.1f,%.3f,%.1f", s.t, s.i, s.tempC)
		}}.write(rows), want: []string{"no column could be the voltage", "voltage="}, row: 1},
		"no time": {text: csvForm{header: "speed_kmh,voltage_v,current_a", row: func(s sample) string {
			return fmt.Sprintf("%.1f,%.3f,%.1f", s.tempC, s.v, s.i)
		}}.write(rows), want: []string{"no column could be the time", "time="}, row: 1},
		"two currents": {text: csvForm{header: "time_s,voltage_v,Current (A),Current (mA)", row: func(s sample) string {
			return fmt.Sprintf("%.1f,%.3f,%.3f,%.1f", s.t, s.v, s.i, 1000*s.i)
		}}.write(rows), want: []string{`"Current (A)", "Current (mA)"`, "could each be the current", "current="}, row: 1, col: "Current (A)"},
		"two currents of other names": {text: csvForm{header: "time_s,voltage_v,amps,Battery current (A)", row: func(s sample) string {
			return fmt.Sprintf("%.1f,%.3f,%.3f,%.3f", s.t, s.v, s.i, s.i)
		}}.write(rows), want: []string{`"amps", "Battery current (A)"`, "could each be the current", "current="}, row: 1, col: "amps"},
		"two numbered currents": {text: csvForm{header: "time_s,voltage_v,I1 (A),I2 (A)", row: func(s sample) string {
			return fmt.Sprintf("%.1f,%.3f,%.3f,%.3f", s.t, s.v, s.i, s.i)
		}}.write(rows), want: []string{"several channels", "channel="}, row: 1, col: "I1 (A)"},
		"rows of two channels": {text: csvForm{header: "channel,time_s,voltage_v,current_a", row: func(s sample) string {
			return fmt.Sprintf("%d,%.1f,%.3f,%.3f", 1+int(s.t)/1500, s.t, s.v, s.i)
		}}.write(rows), want: []string{"several channels", "channel=1"}, row: 1501, col: "channel"},
		"all current zero": {text: csvForm{header: "time_s,voltage_v,current_a", row: func(s sample) string {
			return fmt.Sprintf("%.1f,%.3f,0.000", s.t, s.v)
		}}.write(rows), want: []string{"is 0 in all 2000 rows"}, row: 1, col: "current_a"},
		"rows out of order": {text: with(func(l []string) []string {
			for a, b := 1, len(l)-1; a < b; a, b = a+1, b-1 {
				l[a], l[b] = l[b], l[a]
			}
			return l
		}), want: []string{"rows out of order", "rows in the order of time"}, row: 3, col: "time_s"},
		"a NUL byte": {text: with(func(l []string) []string {
			l[1200] = l[1200][:9] + "\x00" + l[1200][10:]
			return l
		}), want: []string{"NUL byte"}, row: 1201, col: "voltage_v"},
		"NUL bytes at the end":      {text: good + strings.Repeat("\x00", 5000), want: []string{"NUL byte"}, row: 2002, col: "time_s"},
		"a NUL byte in the headers": {text: strings.Replace(good, "time_s", "time\x00s", 1), want: []string{"NUL byte"}, row: 1},
		"one line without end":      {text: strings.Repeat("1,2,3,", 100_000), want: []string{"128 KiB"}, row: 1},
		"a long line later":         {text: good + strings.Repeat("1,2,3,", 100_000), want: []string{"128 KiB"}, row: 2002},
		"empty":                     {text: "", want: []string{"no row of data"}},
		"headers alone":             {text: "time_s,voltage_v,current_a\n", want: []string{"no table found"}},
		"prose":                     {text: "Dear diary,\ntoday I rode\nfar\n", want: []string{"no table found"}},
		"days and months":           {text: "time,voltage,current\n03/05/2026 10:00:00,40,1\n03/05/2026 10:00:01,40,1\n", want: []string{"day and month", "dates=dmy"}, row: 2, col: "time"},
		"a column that is not there": {text: good, opts: []func(*Options){withMap(t, `current="I batt"`)},
			want: []string{"no such column", `"current_a"`}, row: 1, col: "I batt"},
		"a column twice":    {text: good, opts: []func(*Options){withMap(t, "current=voltage_v,voltage=voltage_v")}, want: []string{"mapped twice"}},
		"a number too high": {text: good, opts: []func(*Options){withMap(t, "current=#9")}, want: []string{"#1 to #4"}},
		"no headers":        {text: strings.Join(lines[1:], "\n"), want: []string{"no headers", "time=#1", `#1=1.000`}},
		"gzip cut short":    {text: packGzip(good)[:400], want: []string{"gzip file is cut short"}},
		"zstd cut short":    {text: packZstd(t, good)[:400], want: []string{"zstd file is cut short"}},
		"not really gzip":   {text: "\x1f\x8bhello hello", want: []string{"gzip file cannot be unpacked"}},
		"neither up nor down": {text: csvForm{header: "time_s,voltage_v,current_a", row: func(s sample) string {
			return fmt.Sprintf("%.1f,40,%.3f", s.t, s.i)
		}}.write(rows), want: []string{"sign=+"}},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			r, err := tryRead(c.text, c.opts...)
			if err == nil {
				t.Fatalf("no error; %d rows, warnings %v", r.Rows, r.Warnings)
			}
			text := err.Error()
			if strings.Contains(text, "\n") || len(text) > 700 {
				t.Errorf("want one short line, got %q", text)
			}
			for _, w := range c.want {
				if !strings.Contains(text, w) {
					t.Errorf("%q does not say %q", text, w)
				}
			}
			var in *InputError
			if errors.As(err, &in) {
				if in.Row != c.row || in.Column != c.col {
					t.Errorf("at row %d column %q, want row %d column %q (%s)", in.Row, in.Column, c.row, c.col, text)
				}
			} else if c.row > 0 {
				t.Errorf("%T, want an *InputError", err)
			}
		})
	}
}

// TestSkipBad reads the same kinds of rows with the order to leave them out.
func TestSkipBad(t *testing.T) {
	good := plain.write(outing().rows)
	want := read(t, good)
	lines := strings.Split(strings.TrimSuffix(good, "\n"), "\n")
	bad := append([]string(nil), lines[:2000]...)
	bad = append(bad, "oops", "12,13", "a,b,c,d", "2000.2,\"40,1,2", "2000.5,\x00\x00,1,2")
	bad = append(bad, lines[2000:]...)
	text := strings.Join(bad, "\n") + "\n1234,4"
	r := read(t, text, func(o *Options) { o.SkipBad = true })
	if r.Rows != want.Rows || !strings.Contains(codes(r), "bad_rows") {
		t.Errorf("rows %d, warnings %v, want %d rows and bad_rows", r.Rows, r.Warnings, want.Rows)
	}
	near(t, "discharged Ah", r.DischargedAh, want.DischargedAh, 1e-12)
}

// TestReaderFails wants the reader's own error back.
func TestReaderFails(t *testing.T) {
	broken := errors.New("the cable came off")
	good := plain.write(outing().rows)
	_, err := Read(t.Context(), iotest.DataErrReader(iotest.TimeoutReader(strings.NewReader(good))), Options{Pack: testPack()}, nil)
	if !errors.Is(err, iotest.ErrTimeout) {
		t.Errorf("error = %v, want the reader's", err)
	}
	_, err = Read(t.Context(), iotest.ErrReader(broken), Options{Pack: testPack()}, nil)
	if !errors.Is(err, broken) {
		t.Errorf("error = %v, want the reader's", err)
	}
}
