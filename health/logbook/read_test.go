package logbook_test

import (
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"packwane/health/logbook"
)

const (
	rideLine = `{"record":"ride","pack":"kite","at":"2026-05-03T18:30:00Z","distance_km":23.5}`
	rideHead = "record,pack,at,distance_km\n"
	rideRow  = "ride,kite,2026-05-03T18:30:00Z,23.5\n"
)

// refusedFiles are files with a fault, by what it is.
var refusedFiles = map[string]string{
	"empty":                   "",
	"byte order mark alone":   "\ufeff",
	"blank lines alone":       "\n \r\n\t\n",
	"blank space for ever":    strings.Repeat(" ", 5000),
	"truncated JSON line":     rideLine + "\n" + rideLine[:40],
	"truncated CSV row":       rideHead + rideRow + "ride,kite",
	"truncated quote":         rideHead + rideRow + "ride,\"kite",
	"wrong column":            "record,pack,at,distance\nride,kite,2026-05-03T18:30:00Z,23.5\n",
	"column in capitals":      "record,pack,AT,distance_km\n",
	"column twice":            "record,pack,at,at\n",
	"column with a space":     "record, pack\n",
	"column without a name":   "record,pack,\n",
	"no record column":        "pack,at,distance_km\n" + "kite,2026-05-03T18:30:00Z,23.5\n",
	"semicolons":              "record;pack;at\nride;kite;2026-05-03T18:30:00Z\n",
	"unknown kind":            rideHead + "bike,kite,2026-05-03T18:30:00Z,23.5\n",
	"blank kind":              rideHead + ",kite,2026-05-03T18:30:00Z,23.5\n",
	"field of another kind":   "record,pack,at,charged_ah\nride,kite,2026-05-03T18:30:00Z,5\n",
	"too few cells":           rideHead + "ride,kite,2026-05-03T18:30:00Z\n",
	"too many cells":          rideHead + "ride,kite,2026-05-03T18:30:00Z,23.5,\n",
	"bare quote":              rideHead + "ride,ki\"te,2026-05-03T18:30:00Z,23.5\n",
	"not a number":            rideHead + rideRow + "\nride,kite,2026-05-03T18:30:00Z,abc\n",
	"NaN":                     rideHead + "ride,kite,2026-05-03T18:30:00Z,NaN\n",
	"infinite":                rideHead + "ride,kite,2026-05-03T18:30:00Z,1e999\n",
	"negative":                rideHead + "ride,kite,2026-05-03T18:30:00Z,-1\n",
	"decimal comma":           rideHead + "ride,kite,2026-05-03T18:30:00Z,\"23,5\"\n",
	"unit in a cell":          rideHead + "ride,kite,2026-05-03T18:30:00Z,23.5 km\n",
	"time without offset":     rideHead + "ride,kite,2026-05-03 18:30,23.5\n",
	"required field missing":  rideHead + "ride,,2026-05-03T18:30:00Z,23.5\n",
	"line of a later fault":   rideHead + "ride,\"two\nlines\",2026-05-03T18:30:00Z,23.5\n",
	"third line of JSON":      rideLine + "\n\n{\"record\":\"ride\",\"pack\":\"kite\",\"at\":\"2026-05-03T18:30:00Z\",\"distance_km\":\"23\"}\n",
	"amendment without an id": `{"record":"ride","rev":2,"pack":"kite","at":"2026-05-03T18:30:00Z"}`,
	"removal without an id":   `{"record":"ride","rev":2,"removed":true}`,
	"JSON array":              "[" + rideLine + "]",
	"JSON over many lines":    "{\n\"record\":\"ride\"\n}\n",
	"JSON, then CSV":          rideLine + "\n" + rideHead + rideRow,
	"CSV, then JSON":          rideHead + rideLine + "\n",
	"UTF-16":                  "\xff\xfe{\x00",
	"UTF-16, big end first":   "\xfe\xff\x00{",
	"Latin-1":                 rideHead + "ride,k\xefte,2026-05-03T18:30:00Z,23.5\n",
	"zero bytes":              strings.Repeat("\x00", 100),
	"binary":                  "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
	"binary of letters":       "PK\x03\x04\x14\x00\x08\x00",
	"control character":       rideHead + "ride,k\x1b[31m,2026-05-03T18:30:00Z,23.5\n",
	"long line of JSON":       `{"record":"ride","note":"` + strings.Repeat("x", logbook.MaxLine) + `"}`,
	"long cell":               rideHead + strings.Repeat("x", 5000) + ",,,\n",
}

func TestRefusedFiles(t *testing.T) {
	var b strings.Builder
	for _, name := range sortedKeys(refusedFiles) {
		got, err := readAll(refusedFiles[name])
		var e *logbook.InputError
		if !errors.As(err, &e) {
			t.Errorf("%s: %d records, %v; want an *InputError", name, len(got), err)
			continue
		}
		oneLine(t, err)
		b.WriteString(name + "\n\t" + err.Error() + "\n")
	}
	golden(t, "testdata/refused_files.txt", b.String())
}

func TestReadForms(t *testing.T) {
	want := line(parse(t, rideLine))
	bom := "\ufeff"
	for name, text := range map[string]string{
		"JSON":                     rideLine + "\n",
		"without a last line end":  rideLine,
		"CR LF":                    rideLine + "\r\n",
		"byte order mark":          bom + rideLine,
		"blank lines around":       "\n\n" + rideLine + "\n \n",
		"space around":             "  " + rideLine + "\t\n",
		"CSV":                      rideHead + rideRow,
		"CSV, no last line end":    strings.TrimSuffix(rideHead+rideRow, "\n"),
		"CSV, CR LF":               strings.ReplaceAll(rideHead+rideRow, "\n", "\r\n"),
		"CSV, byte order mark":     bom + rideHead + rideRow,
		"CSV, mark and CR LF":      bom + strings.ReplaceAll(rideHead+rideRow, "\n", "\r\n"),
		"CSV, blank lines":         "\n" + rideHead + "\n\n" + rideRow + "\n",
		"CSV, quoted":              "\"record\",\"pack\",\"at\",\"distance_km\"\n\"ride\",\"kite\",\"2026-05-03T18:30:00Z\",\"23.5\"\n",
		"CSV, columns of others":   "at,charged_ah,record,pack,note,distance_km\n2026-05-03T18:30:00Z,,ride,kite,,23.5\n",
		"CSV, kind in last column": "pack,at,distance_km,record\nkite,2026-05-03T18:30:00Z,23.5,ride\n",
	} {
		got, err := readAll(text)
		if err != nil || len(got) != 1 {
			t.Errorf("%s: %d records, %v", name, len(got), err)
			continue
		}
		if id := logbook.HeadOf(got[0].Record).ID; id != logbook.MakeID(got[0].Record) {
			t.Errorf("%s: the id is %q", name, id)
		}
		logbook.HeadOf(got[0].Record).ID = ""
		if text := line(got[0].Record); text != want {
			t.Errorf("%s: %s, want %s", name, text, want)
		}
	}
	for name, text := range map[string]string{"header only": rideHead, "header, no line end": "record", "every column": written(t, asCSV)} {
		if got, err := readAll(text); err != nil || len(got) != 0 {
			t.Errorf("%s: %d records, %v", name, len(got), err)
		}
	}
}

func TestReadPositions(t *testing.T) {
	for _, c := range []struct {
		text  string
		lines [3]int
	}{
		{"\n" + rideLine + "\n\n" + rideLine + "\n" + rideLine, [3]int{2, 4, 5}},
		{"record,pack,at,note\nride,kite,2026-05-03T18:30:00Z,\n\nride,kite,2026-05-03T18:30:00Z,\"a\n\"\nride,kite,2026-05-03T18:30:00Z,b\n", [3]int{2, 4, 6}},
	} {
		got, err := readAll(c.text)
		if err != nil || len(got) != 3 {
			t.Fatalf("%d records, %v", len(got), err)
		}
		for i, e := range got {
			if want := (logbook.Position{File: "log", Line: c.lines[i]}); e.At != want {
				t.Errorf("record %d at %v, want %v", i, e.At, want)
			}
		}
	}
}

// counter counts what is read of an endless source.
type counter struct {
	src io.Reader
	n   int
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.src.Read(p)
	c.n += n
	return n, err
}

type endless byte

func (e endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(e)
	}
	return len(p), nil
}

// A line of 100 MB, here one that never ends, is refused after some MiB.
func TestReadEndlessLine(t *testing.T) {
	for name, start := range map[string]string{
		"JSON":         rideLine + "\n" + `{"record":"ride","note":"`,
		"CSV":          rideHead + rideRow + "ride,",
		"CSV, quoted":  rideHead + rideRow + "ride,\"",
		"CSV header":   "record,",
		"digits":       `{"record":"ride","distance_km":1`,
		"blank quotes": "\"",
	} {
		src := &counter{src: io.MultiReader(strings.NewReader(start), endless('7'))}
		var last error
		for _, err := range logbook.Read(src, "log") {
			last = err
		}
		var e *logbook.InputError
		if !errors.As(last, &e) || !strings.Contains(last.Error(), "longer than") {
			t.Errorf("%s: %v", name, last)
			continue
		}
		oneLine(t, last)
		if want := strings.Count(start, "\n") + 1; e.At.Line != want {
			t.Errorf("%s: at line %d, want %d", name, e.At.Line, want)
		}
		if src.n > 3*logbook.MaxLine {
			t.Errorf("%s: read %d bytes", name, src.n)
		}
	}
}

// The longest line, its line end included, is accepted, and no longer one.
func TestReadLongLine(t *testing.T) {
	for length, want := range map[int]int{logbook.MaxLine: 3, logbook.MaxLine + 1: 1} {
		long := strings.Replace(rideLine, "}", strings.Repeat(" ", length-len(rideLine)-1)+"}", 1)
		got, err := readAll(rideLine + "\n" + long + "\n" + rideLine)
		if len(got) != want || (err == nil) != (want == 3) {
			t.Errorf("%d bytes: %d records, %v", length, len(got), err)
		}
	}
	// Many short rows together may be longer than one may be.
	row := "ride,kite,2026-05-03T18:30:00Z,\"" + strings.Repeat("n", 4000) + "\"\n"
	if got, err := readAll("record,pack,at,note\n" + strings.Repeat(row, 1000)); err != nil || len(got) != 1000 {
		t.Errorf("%d records, %v", len(got), err)
	}
}

// A source that fails is a failure of its own, not a fault of the input.
func TestReadFailure(t *testing.T) {
	broken := errors.New("broken pipe")
	for _, text := range []string{"", rideLine, rideLine + "\n", rideHead, rideHead + rideRow, rideHead + "ride,\"", strings.Repeat(rideLine+"\n", 2000)} {
		var last error
		for _, err := range logbook.Read(io.MultiReader(strings.NewReader(text), iotest.ErrReader(broken)), "log") {
			last = err
		}
		var e *logbook.InputError
		if !errors.Is(last, broken) || errors.As(last, &e) {
			t.Errorf("after %.20q: %v", text, last)
		}
	}
}

// One byte at a time gives the same as all at once; a consumer may stop.
func TestReadPiecemeal(t *testing.T) {
	for _, open := range []func(*strings.Builder) logbook.Writer{asCSV, asLines} {
		text := written(t, open, full(t, logbook.KindBoard), full(t, logbook.KindPack), full(t, logbook.KindRide))
		n := 0
		for e, err := range logbook.Read(iotest.OneByteReader(strings.NewReader(text)), "log") {
			if err != nil || line(e.Record) != line(full(t, e.Record.Kind())) {
				t.Errorf("%v: %v", e.At, err)
			}
			n++
		}
		if n != 3 {
			t.Errorf("%d records", n)
		}
		for range logbook.Read(strings.NewReader(text), "log") {
			break
		}
	}
}
