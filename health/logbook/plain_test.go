package logbook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestPlainNumbersReadAsStrconvReadsThem holds the short way against the
// standard library, bit by bit.
func TestPlainNumbersReadAsStrconvReadsThem(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	taken := 0
	try := func(text string) {
		p := &parser{data: []byte(text + ",")}
		got, ok := p.plainNumber()
		if !ok {
			if p.pos != 0 {
				t.Fatalf("%s: declined after %d bytes", text, p.pos)
			}
			return
		}
		taken++
		want, err := strconv.ParseFloat(text, 64)
		if err != nil || math.Float64bits(got) != math.Float64bits(want+0) || p.pos != len(text) {
			t.Fatalf("%s: got %v after %d bytes, want %v (%v)", text, got, p.pos, want, err)
		}
	}
	for range 200_000 {
		try(fmt.Sprintf("%.*f", 1+rng.IntN(12), (rng.Float64()-.5)*math.Pow(10, float64(rng.IntN(9)))))
		try(strconv.FormatUint(rng.Uint64()>>rng.IntN(64), 10))
	}
	for _, text := range []string{"0", "-0", "0.0", "-0.5", "9007199254740992", "9007199254740993", "0.1234567890123456789", "00", "01.5", "1.", ".5", "-", "", "1e5", "1.5E-3", "-a"} {
		try(text)
	}
	if taken < 250_000 {
		t.Errorf("only %d of 400000 were plain: the test says little", taken)
	}
}

// TestPlainTimesReadAsTheLibraryReadsThem does the same for times.
func TestPlainTimesReadAsTheLibraryReadsThem(t *testing.T) {
	f, _ := FieldNamed(KindRide, "at")
	try := func(text string) bool {
		got, n, ok := plainTime([]byte(`"` + text + `",`))
		var want time.Time
		err := f.setTime(&want, text)
		if ok && (err != nil || n != len(text)+2 || !got.Equal(want) || got.Format(time.RFC3339Nano) != want.Format(time.RFC3339Nano) || !reflect.DeepEqual(got, want)) {
			t.Fatalf("%s: got %v after %d bytes, want %v (%v)", text, got, n, want, err)
		}
		return ok
	}
	rng := rand.New(rand.NewPCG(4, 3))
	for range 100_000 {
		zone := time.FixedZone("", 60*(rng.IntN(2*24*60-1)-24*60+1))
		at := time.Unix(rng.Int64N(230*365*86400), 0).In(zone)
		if at.Year() >= 1970 && at.Year() <= 2200 && !try(at.Format(time.RFC3339)) {
			t.Fatalf("%v is not plain", at)
		}
		// Any digit may be any other.
		text := []byte(at.Format(time.RFC3339))
		text[rng.IntN(len(text))] = "0123456789:-+TZ. "[rng.IntN(17)]
		try(string(text))
	}
	for _, text := range []string{"2024-02-29T00:00:00Z", "2023-02-29T00:00:00Z", "2100-02-29T00:00:00Z", "2000-02-29T23:59:59-00:00", "2026-04-31T00:00:00Z", "2026-05-03T24:00:00Z", "2026-05-03T18:30:60Z", "2026-05-03T18:30:00+24:00", "1969-12-31T23:00:00Z", "2026-05-03T18:30:00.5Z"} {
		try(text)
	}
}

// TestNumbersAreWrittenAsShortAsStrconvWritesThem: thousandths are written
// without a search, and not otherwise.
func TestNumbersAreWrittenAsShortAsStrconvWritesThem(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	check := func(v float64) {
		v += 0 // a negative zero is zero, see Some
		format := byte('f')
		if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e21) {
			format = 'e'
		}
		if got, want := FormatNumber(v), strconv.FormatFloat(v, format, -1, 64); got != want {
			t.Fatalf("%v is written %s, want %s", v, got, want)
		}
	}
	for range 200_000 {
		v := (rng.Float64() - .5) * math.Pow(10, float64(rng.IntN(26)-8))
		check(v)
		for _, unit := range []float64{1, 10, 100, 1000, 10_000} {
			check(math.Round(v*unit) / unit)
		}
	}
	for _, v := range []float64{0, .001, -.001, .1, .01, 1e12, 1e15, 999999999999.999, 1e21, 1e-7, .0005, 4.35, 1.005} {
		check(v)
	}
}

// TestDecodingTakesStepsByTheByte counts allocations instead of seconds: a line
// twice as long, of whatever kind, costs no more than twice as many.
func TestDecodingTakesStepsByTheByte(t *testing.T) {
	many := func(n int, one string) string { return strings.Repeat(one, n) }
	for name, line := range map[string]func(n int) string{
		"a long text":         func(n int) string { return `{"record":"board","id":"` + many(n, "a") + `"}` },
		"escapes":             func(n int) string { return `{"record":"board","note":"` + many(n, `\u00e9`) + `"}` },
		"half a pair":         func(n int) string { return `{"record":"board","note":"` + many(n, `\ud800`) + `"}` },
		"a list":              func(n int) string { return `{"record":"check","group_v":[` + many(n, `4,`) + `4]}` },
		"brackets":            func(n int) string { return `{"record":"check","group_v":` + many(n, `[`) },
		"objects":             func(n int) string { return many(n, `{"record":`) },
		"unknown names":       func(n int) string { return `{"record":"ride"` + many(n, `,"x":1`) + `}` },
		"the same name":       func(n int) string { return `{"record":"ride"` + many(n, `,"id":"a"`) + `}` },
		"the kind at the end": func(n int) string { return `{"id":"a"` + many(n, `,"note":"b"`) + `,"record":"ride"}` },
		"digits":              func(n int) string { return `{"record":"ride","distance_km":` + many(n, `1`) + `}` },
		"blanks":              func(n int) string { return many(n, " ") + `{"record":"ride"}` },
	} {
		cost := func(n int) float64 {
			text := []byte(line(n))
			return testing.AllocsPerRun(5, func() { ParseJSON(text) })
		}
		if few, more := cost(2000), cost(20_000); more > 11*few+20 {
			t.Errorf("%s: %.0f allocations, of ten times as much %.0f", name, few, more)
		}
	}
}
