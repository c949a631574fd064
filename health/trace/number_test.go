package trace

import (
	"bytes"
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestFixed compares with strconv.ParseFloat, which rounds as IEEE 754 does.
func TestFixed(t *testing.T) {
	for _, s := range []string{"0", "-0", "1", "-1", "3.7", "-12.3456", "0.1", "0.30000", ".5", "5.", "123456789012345", "999999999999999", "0.00000000000001", "1767225600.125", "-0.0001"} {
		want, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		got, end := fixed([]byte(s+","), '.')
		if end != len(s) || math.Float64bits(got) != math.Float64bits(want) {
			t.Errorf("%q = %v to %d, want %v to %d", s, got, end, want, len(s))
		}
	}
	for _, s := range []string{"", ",", "-", ".", "-.", "x", "1234567890123456", "0.1234567890123456", " 1", "+1", "1234567890.1234567890"} {
		if v, end := fixed([]byte(s), '.'); end != 0 {
			t.Errorf("%q = %v to %d, want the slow way", s, v, end)
		}
	}
}

// FuzzNumber: what fixed or slowNumber take must be what strconv.ParseFloat
// makes of the same text, bit for bit.
func FuzzNumber(f *testing.F) {
	for _, s := range []string{"0", "-12.3456", "1e5", "+4.20", "\"3.7\"", " 1.5 ", "nan", "-", "0.1234567890123456789", "99999999999999999999", "1,5", "0x10", "1_0", "inf", "1e999", "\u22125"} {
		f.Add(s, true)
		f.Add(s, false)
	}
	f.Fuzz(func(t *testing.T, s string, point bool) {
		mark := byte('.')
		if !point {
			mark = ','
		}
		check := func(text string, got float64) {
			want, err := strconv.ParseFloat(strings.Replace(text, string(mark), ".", 1), 64)
			if err != nil || math.Float64bits(got) != math.Float64bits(want) {
				t.Errorf("%q = %v, want %v %v", text, got, want, err)
			}
		}
		v, end := fixed([]byte(s), mark)
		if end > 0 {
			check(s[:end], v)
			if slow, ok := slowNumber([]byte(s[:end]), mark); !ok || math.Float64bits(slow) != math.Float64bits(v) {
				t.Errorf("%q: fast %v, slow %v %v", s[:end], v, slow, ok)
			}
		}
		if v, ok := slowNumber([]byte(s), mark); ok && v == v {
			text := string(unquote(bytes.TrimSpace([]byte(s))))
			check(strings.Replace(text, "\u2212", "-", 1), v)
			if math.IsInf(v, 0) {
				t.Errorf("%q is infinite", s)
			}
		}
	})
}

// TestSum adds ten million tenths and a large number that comes and goes: the
// exact sum is that of math/big.
func TestSum(t *testing.T) {
	var s sum
	naive := 0.0
	exact := new(big.Float).SetPrec(200)
	add := func(x float64) {
		s.add(x)
		naive += x
	}
	add(1e16)
	for range 1_000_000 {
		add(0.1)
	}
	add(-1e16)
	exact.Mul(big.NewFloat(0.1), big.NewFloat(1_000_000))
	want, _ := exact.Float64()
	if got := s.value(); math.Abs(got-want) > 1e-9*want {
		t.Errorf("sum %v, want %v", got, want)
	}
	if math.Abs(naive-want) < 1e-3*want {
		t.Errorf("the plain sum %v is as good: the test shows nothing", naive)
	}
	var a, b sum
	for k := range 1000 {
		if k < 500 {
			a.add(float64(k) * 1e-3)
		} else {
			b.add(float64(k) * 1e-3)
		}
	}
	if a.join(b); math.Abs(a.value()-499.5) > 1e-12 {
		t.Errorf("joined %v, want 499.5", a.value())
	}
}

// TestStamps compares with time.Parse of the standard library.
func TestStamps(t *testing.T) {
	for _, c := range []struct {
		text, layout string
		order        dateOrder
	}{
		{"2026-05-03T10:20:30Z", time.RFC3339, orderUnknown},
		{"2026-05-03T10:20:30.125Z", time.RFC3339Nano, orderUnknown},
		{"2026-05-03 10:20:30+02:00", "2006-01-02 15:04:05Z07:00", orderUnknown},
		{"2026-05-03 10:20:30 -0330", "2006-01-02 15:04:05 -0700", orderUnknown},
		{"2026/05/03 10:20:30", "2006/01/02 15:04:05", orderUnknown},
		{"03.05.2026 10:20:30", "02.01.2006 15:04:05", orderDMY},
		{"3.5.26 10:20", "2.1.06 15:04", orderDMY},
		{"05/03/2026 01:20:30 PM", "01/02/2006 03:04:05 PM", orderMDY},
		{"5/3/2026 12:00:01 am", "1/2/2006 3:04:05 pm", orderMDY},
		{"3-May-2026 10:20:30", "2-Jan-2006 15:04:05", orderUnknown},
		{"May 3, 2026 10:20:30", "Jan 2, 2006 15:04:05", orderUnknown},
		{"2024-02-29 23:59:59", "2006-01-02 15:04:05", orderUnknown},
		{"1999-12-31 23:59:59", "2006-01-02 15:04:05", orderUnknown},
		{"2100-03-01 00:00:00", "2006-01-02 15:04:05", orderUnknown},
	} {
		want, err := time.Parse(c.layout, c.text)
		if err != nil {
			t.Fatal(err)
		}
		st, ok := parseStamp([]byte(c.text), c.order, false)
		if got := float64(want.UnixMilli()) / 1000; !ok || math.Abs(st.sec-got) > 1e-6 {
			t.Errorf("%q = %v %v, want %v", c.text, st.sec, ok, got)
		}
	}
	for _, bad := range []string{"", "2026-05", "2026-13-01 10:00:00", "2026-05-32 10:00:00", "2026-05-03", "2026-05-03 25:00:00", "2026-05-03 10:61:00", "2026-05-03 10:00:00 x", "10:00:00", "2026-05-03 10:00:00+9999"} {
		if st, ok := parseStamp([]byte(bad), orderYMD, false); ok {
			t.Errorf("%q = %v, want no date and time", bad, st.sec)
		}
	}
	// Every day of two centuries, against the standard library.
	for d := time.Date(1950, 1, 1, 0, 0, 0, 0, time.UTC); d.Year() < 2150; d = d.AddDate(0, 0, 1) {
		st, ok := parseStamp([]byte(d.Format("2006-01-02")), orderYMD, true)
		if !ok || st.sec != float64(d.Unix()) {
			t.Fatalf("%v = %v %v, want %v", d, st.sec, ok, d.Unix())
		}
	}
}

func TestClocks(t *testing.T) {
	for text, want := range map[string]float64{
		"00:00:00": 0, "13:05:09": 47109, "13:05:09.25": 47109.25, "13:05:09,5": 47109.5, "1:05:09 PM": 47109, "12:00:00 am": 0, "12:30:00 pm": 45000,
		"125:04:05": 450245, "2d 03:04:05": 183845, "2 days, 03:04:05": 183845, "2-03:04:05": 183845, "13:05": 47100, "13:05:09:250": 47109.25,
	} {
		if got, ok := parseClock([]byte(text), false); !ok || math.Abs(got-want) > 1e-9 {
			t.Errorf("%q = %v %v, want %v", text, got, ok, want)
		}
	}
	if got, ok := parseClock([]byte("12:34.5"), true); !ok || got != 754.5 {
		t.Errorf("12:34.5 of minutes = %v %v, want 754.5", got, ok)
	}
	for _, bad := range []string{"", "12", "12:", "12:60:00", "12:00:61", "x:00:00", "12:00:00 x", "1 2:00:00", "12:000"} {
		if got, ok := parseClock([]byte(bad), false); ok {
			t.Errorf("%q = %v, want no time", bad, got)
		}
	}
}
