package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/charts"
	"packwane/health/report"
	"packwane/health/units"
)

// TestChartStyle: every colour of a picture has one other in the dark, and none
// of two.
func TestChartStyle(t *testing.T) {
	style := string(chartStyle())
	rule := regexp.MustCompile(`\.chart \[([a-z-]+)="([^"]+)"\]\{([a-z-]+):([^}]+)\}`)
	turned := map[string]string{}
	for _, m := range rule.FindAllStringSubmatch(style, -1) {
		if m[1] != m[3] || m[2] == m[4] {
			t.Errorf("the rule %s turns nothing", m[0])
		}
		turned[m[1]+m[2]] = m[4]
	}
	if len(turned) < charts.Colours {
		t.Fatalf("there are %d rules, want at least one a series: %s", len(turned), style)
	}
	for i, p := range everyPaint() {
		light, dark := paints(p, charts.Light), paints(p, charts.Dark)
		for j := range light {
			want := dark[j][2]
			if light[j][2] == want {
				continue
			}
			if got := turned[light[j][1]+light[j][2]]; got != want {
				t.Errorf("picture %d: %s %s becomes %q, want %q", i, light[j][1], light[j][2], got, want)
			}
		}
	}
}

// TestRoad: the marks of a road are few, even and reach beyond everything.
func TestRoad(t *testing.T) {
	for _, sys := range []units.System{units.Metric, units.Imperial} {
		for _, km := range []float64{0.4, 1, 7.3, 9.99, 10, 38.9, 54.7, 100, 460, 1999} {
			r := roadFor(sys, km/2, km)
			e := &report.Estimate{Value: km * .9}
			e.Low, e.High = new(float64), new(float64)
			*e.Low, *e.High = km*.8, km
			drawn := r.ruler(km/3, e, nil)
			if n := len(drawn.Marks); n < 4 || n > 11 {
				t.Errorf("%g km, %s: %d marks", km, sys, n)
			}
			b := drawn.Bars[0]
			last := drawn.Marks[len(drawn.Marks)-1].X
			if !(rulerEdge < b.Low && b.Low < b.Middle && b.Middle < b.High && b.High <= last && last <= rulerWide-rulerEdge) {
				t.Errorf("%g km, %s: the bar lies at %+v, the road ends at %g", km, sys, b, last)
			}
			// proportional: the middle is nine tenths of the way to the high bound
			if share := (b.Middle - rulerEdge) / (b.High - rulerEdge); share < .895 || share > .905 {
				t.Errorf("%g km, %s: the middle lies at %.3f of the high bound, want 0.9", km, sys, share)
			}
		}
	}
	if roadFor(units.Metric).ruler(20, nil, nil) != nil {
		t.Error("a road without a pack is drawn")
	}
	open := roadFor(units.Metric, 30).ruler(0, &report.Estimate{Value: 30}, nil)
	if b := open.Bars[0]; b.Sure() != 0 || b.High < b.Middle {
		t.Errorf("without bounds the bar is %+v", b)
	}
}

// TestRecent: what was used last stays.
func TestRecent(t *testing.T) {
	r := newRecent[int](3)
	for i := range 3 {
		r.put(fmt.Sprint(i), i)
	}
	r.get("0")
	r.put("3", 3)
	var left []string
	for k := range r.all {
		left = append(left, k)
	}
	slices.Sort(left)
	if got := strings.Join(left, " "); got != "0 2 3" {
		t.Errorf("%s are left, want 0 2 3", got)
	}
	if _, ok := r.get("1"); ok {
		t.Error("1 is still there")
	}
	if v, ok := r.get("0"); !ok || v != 0 {
		t.Errorf("0 is %d, %v", v, ok)
	}
}

// TestLimiter: a bucket empties, refills, and the table of clients is bounded.
func TestLimiter(t *testing.T) {
	now := time.Date(2026, 5, 3, 12, 0, 0, 0, time.UTC)
	l := newLimiter(func() time.Time { return now })
	a := netip.MustParseAddr("192.0.2.1")
	for range int(burst) {
		if !l.allow(a, 1) {
			t.Fatal("refused within the burst")
		}
	}
	if l.allow(a, 1) {
		t.Error("the burst has no end")
	}
	if !l.allow(netip.MustParseAddr("192.0.2.2"), 1) {
		t.Error("another client pays for it")
	}
	now = now.Add(time.Second)
	for range int(perSecond) {
		if !l.allow(a, 1) {
			t.Fatal("it does not refill")
		}
	}
	if l.allow(a, 1) {
		t.Error("it refills too fast")
	}
	for i := range 3 * mostClients {
		l.allow(netip.AddrFrom4([4]byte{10, byte(i >> 16), byte(i >> 8), byte(i)}), 1)
	}
	if len(l.buckets) > mostClients {
		t.Errorf("%d clients are remembered, want at most %d", len(l.buckets), mostClients)
	}
	now = now.Add(-time.Hour) // a clock that is set back
	if l.allow(a, burst+1) {
		t.Error("a clock that is set back gives more than the burst")
	}
}

// TestClientOf: an IPv6 network is one client.
func TestClientOf(t *testing.T) {
	for remote, want := range map[string]string{
		"192.0.2.1:5": "192.0.2.1", "[::ffff:192.0.2.1]:5": "192.0.2.1", "[2001:db8::1:2:3:4]:5": "2001:db8::", "[fe80::1%eth0]:5": "fe80::", "pipe": "invalid IP",
	} {
		if got := clientOf(&http.Request{RemoteAddr: remote}).String(); got != want {
			t.Errorf("%s is %s, want %s", remote, got, want)
		}
	}
}

func TestTakesGzip(t *testing.T) {
	for header, want := range map[string]bool{
		"": false, "gzip": true, "deflate, gzip;q=0.5": true, "gzip;q=0": false, "gzip; q=0": false, "br": false, "GZIP": true, "xgzip": false,
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Header.Set("Accept-Encoding", header)
		if got := takesGzip(r); got != want {
			t.Errorf("%q: %v, want %v", header, got, want)
		}
	}
}

func TestFileLabel(t *testing.T) {
	for name, want := range map[string]string{
		"rides.csv": "rides.csv", "/etc/passwd": "passwd", `C:\a\b.csv`: "b.csv", "": "the file", "a\x1b[31mb": "a__31mb", "<b>": "_b_", "Fahrt ä.csv": "Fahrt ä.csv", "..": "..", strings.Repeat("n", 99): strings.Repeat("n", 60),
	} {
		if got := fileLabel(name); got != want {
			t.Errorf("%q is shown as %q, want %q", name, got, want)
		}
	}
}

func TestWords(t *testing.T) {
	heads := []string{"", "a", "", "b"}
	if got := joinedBy(", ", heads...); got != "a, b" || heads[0] != "" || heads[3] != "b" {
		t.Errorf("joined %q, and left %q", got, heads)
	}
}

// TestPictureIsXML: a picture stands in a page as it is, without a prologue.
func TestPictureIsXML(t *testing.T) {
	p, err := draw("Range", charts.Figure{Title: `a "<b>" & c`})
	if err != nil {
		t.Fatal(err)
	}
	if s := string(p.SVG); !strings.HasPrefix(s, "<svg") || strings.Contains(s, "<b>") || bytes.Contains([]byte(s), []byte("style=")) {
		t.Errorf("drawn %s", s)
	}
}
