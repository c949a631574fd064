package web_test

import (
	"compress/gzip"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"packwane/cmd/packwane/internal/typed"
	"packwane/cmd/packwane/internal/web"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
	"packwane/store"
)

// counting is a desk that counts its fits.
type counting struct {
	web.Desk
	fits *atomic.Int64
}

func (c counting) Fit(h *logbook.History, siblings []model.Sibling) *model.Fit {
	c.fits.Add(1)
	return c.Desk.Fit(h, siblings)
}

// TestPageAndCommandAgree: the figures on a page are those of the command, each
// rounded the same way.
func TestPageAndCommandAgree(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	var h struct {
		RangeKm              *report.Estimate `json:"range_km"`
		NextTestKm           *report.Estimate `json:"next_test_km"`
		CapacityAh           *report.Estimate `json:"capacity_ah"`
		CapacityWh           *report.Estimate `json:"capacity_wh"`
		SohPct               *report.Estimate `json:"soh_pct"`
		ConsumptionWhPerKm   *report.Estimate `json:"consumption_wh_per_km"`
		EquivalentFullCycles *report.Estimate `json:"equivalent_full_cycles"`
		RoundTripPct         *report.Estimate `json:"round_trip_pct"`
		ResistanceMohm       *report.Estimate `json:"resistance_mohm"`
	}
	if err := json.Unmarshal([]byte(s.command("health", "kite-a", "--json")), &h); err != nil {
		t.Fatal(err)
	}
	page := s.get("/pack?id=kite-a").wants(t, 200)
	for _, x := range []struct {
		e *report.Estimate
		u units.Unit
	}{{h.RangeKm, units.Km}, {h.NextTestKm, units.Km}, {h.CapacityAh, units.Ah}, {h.CapacityWh, units.Wh}, {h.SohPct, units.Pct}, {h.ConsumptionWhPerKm, units.WhPerKm}, {h.EquivalentFullCycles, units.Count}, {h.RoundTripPct, units.Pct}} {
		r := units.Round(x.e.Value, *x.e.Low, *x.e.High, x.u, units.Metric)
		page.wants(t, 200, "<b>"+r.Value+"</b>", r.Low+" to "+r.High)
	}
	if h.ResistanceMohm != nil {
		t.Error("a log without a check tells a resistance")
	}
	page.wants(t, 200, `<div class="missing">`, "no check tells the resistance")
	s.post("/settings", "units", "imperial").wants(t, 303)
	r := units.Round(h.RangeKm.Value, *h.RangeKm.Low, *h.RangeKm.High, units.Km, units.Imperial)
	s.get("/pack?id=kite-a").wants(t, 200, "<b>"+r.Value+"</b> mi", r.Low+" to "+r.High)
	s.get("/").wants(t, 200, "<b>"+r.Value+"</b> mi")
	if got := s.command("prefer"); !strings.Contains(got, "imperial") {
		t.Errorf("the command prefers %s", got)
	}
}

// TestFitsAreKept: one log is fitted once, whatever pages are asked for and
// however many at a time; a record that is logged makes one fit more.
func TestFitsAreKept(t *testing.T) {
	var fits atomic.Int64
	s := newSite(t, func(c *web.Config) { c.Desk = counting{c.Desk, &fits} })
	s.fill(kite)
	var wg sync.WaitGroup
	for _, path := range []string{"/", "/pack?id=kite-a", "/due", "/audit", "/outlook", "/reach?pack=kite-a&rest=38", "/tape?pack=kite-a", "/sheet?pack=kite-a", "/", "/pack?id=kite-a"} {
		wg.Go(func() {
			if a := s.get(path); a.status != 200 {
				t.Errorf("%s gives %d", path, a.status)
			}
		})
	}
	wg.Wait()
	if n := fits.Load(); n != 1 {
		t.Errorf("%d fits were made for one log, want 1", n)
	}
	s.setClock(noon.Add(5 * time.Hour)) // another moment, the same records: from the kept mode
	s.get("/pack?id=kite-a").wants(t, 200, "As of today 17:00")
	if n := fits.Load(); n != 1 {
		t.Errorf("%d fits by the afternoon, want 1", n)
	}
	s.post("/log/ride", "pack", "kite-a", "distance", "9", "discharged", "110 Wh", "step", "keep").wants(t, 303)
	s.get("/pack?id=kite-a").wants(t, 200, "13 rides")
	s.get("/").wants(t, 200)
	if n := fits.Load(); n != 2 {
		t.Errorf("%d fits after one more ride, want 2", n)
	}
}

// TestLooksFromTheLastRecord: a ride that ended a moment ago is in the answers.
func TestLooksFromTheLastRecord(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.setClock(noon.Add(25 * time.Minute))
	s.get("/pack?id=kite-a").wants(t, 200, "As of today 12:00", "12 rides")
	s.post("/log/ride", "pack", "kite-a", "distance", "9", "discharged", "110 Wh", "end", "12:20", "moving", "30 min", "step", "keep").wants(t, 303)
	s.get("/pack?id=kite-a").wants(t, 200, "As of today 12:20", "13 rides")
	s.post("/log/service", "pack", "kite-a", "kind", "snooze", "until", "in 3 days", "at", "12:22", "step", "keep").wants(t, 303)
	s.get("/pack?id=kite-a").wants(t, 200, "As of today 12:22")
}

// TestStoreIsFree: between two pages the store belongs to whoever wants it; and
// where another holds it, the page says so and goes on after.
func TestStoreIsFree(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.get("/").wants(t, 200)
	db, err := store.Open(s.store, store.ReadWrite)
	if err != nil {
		t.Fatalf("a page holds the store: %v", err)
	}
	s.get("/").wants(t, 503, "Another program holds the log")
	s.post("/log/ride", "pack", "kite-a", "distance", "9", "step", "keep").wants(t, 503)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	s.get("/").wants(t, 200)
	s.post("/log/ride", "pack", "kite-a", "distance", "9", "step", "keep").wants(t, 303)
	if got := s.command("list", "kite-a", "--kind", "ride"); strings.Count(got, "\n") != 14 {
		t.Errorf("the command lists %s", got)
	}
}

// TestTrouble: what lies in the store is told to the terminal, not to the
// browser.
func TestTrouble(t *testing.T) {
	var told []string
	var mu sync.Mutex
	s := newSite(t, func(c *web.Config) {
		c.Fault = func(err error) { mu.Lock(); told = append(told, err.Error()); mu.Unlock() }
		c.Desk = failing{c.Desk}
	})
	a := s.get("/").wants(t, 500, "Something went wrong")
	a.lacks(t, "/secret/path")
	a = s.get("/due")
	a.wants(t, 500).lacks(t, "/secret/path")
	mu.Lock()
	defer mu.Unlock()
	if len(told) < 2 || !strings.Contains(told[0], "/secret/path") {
		t.Errorf("the terminal is told %q", told)
	}
}

// failing is a desk whose store is out of reach.
type failing struct{ web.Desk }

func (failing) Read(func(*store.Store) error) error { return errPath{} }

type errPath struct{}

func (errPath) Error() string { return "/secret/path: input/output error" }

// TestPanic: a page that fails leaves the server standing.
func TestPanic(t *testing.T) {
	s := newSite(t, func(c *web.Config) { c.Desk, c.Fault = panicking{c.Desk}, func(error) {} })
	s.fill(kite)
	s.get("/").wants(t, 500, "Something went wrong")
	s.get("/pack?id=kite-a").wants(t, 500)
	s.get("/more").wants(t, 200)
	s.post("/log/ride", "pack", "kite-a", "distance", "9", "discharged", "110 Wh").wants(t, 200, "Keep it").lacks(t, "What it shows")
	s.post("/log/ride", "pack", "kite-a", "distance", "9", "discharged", "110 Wh", "step", "keep").wants(t, 303) // logging goes on
}

type panicking struct{ web.Desk }

func (panicking) Fit(*logbook.History, []model.Sibling) *model.Fit { panic("no fit") }

// TestFeed: a calendar reads the reminders by an address of their own, and
// nothing else.
func TestFeed(t *testing.T) {
	s := newSite(t, func(c *web.Config) { c.Pair = true })
	s.fill(kite + `{"record":"service","id":"wet","pack":"kite-a","at":"2026-05-02T10:00:00+02:00","kind":"water"}` + "\n")
	a := s.post("/pair/now", "token", strings.TrimPrefix(s.links[0], "/pair/")).wants(t, 303)
	cookie, _, _ := strings.Cut(a.header.Get("Set-Cookie"), ";")
	s.get("/feed/.ics").wants(t, 404)
	s.do("POST", "/feed", "", "Origin", s.url).wants(t, 401)
	s.do("POST", "/feed", "", "Origin", s.url, "Cookie", cookie).wants(t, 303)
	feed := regexp.MustCompile(`/feed/[A-Z0-9]{26}\.ics`).FindString(s.get("/due", "Cookie", cookie).body)
	if feed == "" {
		t.Fatal("the page shows no address")
	}
	a = s.get(feed).wants(t, 200)
	if got := a.header.Get("Content-Type"); !strings.HasPrefix(got, "text/calendar") {
		t.Errorf("the feed is %s", got)
	}
	cal, err := ics.ParseCalendar(strings.NewReader(a.body))
	if err != nil {
		t.Fatal(err)
	}
	stop := false
	for _, e := range cal.Events() {
		stop = stop || strings.HasPrefix(e.GetProperty(ics.ComponentPropertySummary).Value, "Stop riding")
	}
	if !stop {
		t.Errorf("no entry says to stop riding: %s", a.body)
	}
	s.get("/feed/AAAAAAAAAAAAAAAAAAAAAAAAAA.ics").wants(t, 404)
	s.do("POST", "/feed", "", "Origin", s.url, "Cookie", cookie).wants(t, 303)
	s.get(feed).wants(t, 404) // a new address makes the old one void
	s.get("/pack?id=kite-a").wants(t, 401)
}

// TestPictures: a pack's page draws every kind of picture that the commands
// draw, what it loses among them; a pack of the bench has no road to draw.
func TestPictures(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite + strings.ReplaceAll(strings.Split(kite, "\n")[1], "kite-a", "bench-a") + "\n" +
		`{"record":"ride","pack":"bench-a","at":"2026-04-01T10:00:00Z","discharged_ah":11.2,"stop":"limit"}` + "\n")
	all := []string{">Range</h2>", ">Capacity</h2>", ">Resistance</h2>", ">Consumption over temperature</h2>", ">Round trip</h2>", ">Lost at rest</h2>"}
	s.get("/pack?id=kite-a").wants(t, 200, all...)
	s.get("/pack?id=bench-a").wants(t, 200, all[1], all[2], all[4], all[5]).lacks(t, all[0], all[3])
}

// TestReportFile: a report is saved as a file, whole.
func TestReportFile(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.get("/report?pack=kite-a").wants(t, 200, "As a file", "/report/file?pack=kite-a")
	a := s.get("/report/file?pack=kite-a").wants(t, 200, "<!DOCTYPE html>", "<svg")
	if got := a.header.Get("Content-Disposition"); got != `attachment; filename="packwane-report.html"` {
		t.Errorf("saved as %s", got)
	}
	s.get("/report/file?as=markdown&pack=kite-a").wants(t, 200, "# kite-a")
	s.get("/report/file").wants(t, 400)
	s.get("/report?"+url.Values{"pack": strings.Split("abcdefg", "")}.Encode()).wants(t, 404)
}

// TestWireSize: the page of a pack with hundreds of records is under 60 kB on
// the wire, and so is every other page with what it loads.
func TestWireSize(t *testing.T) {
	s := newSite(t, nil)
	s.fillDemo()
	const most = 60_000
	wire := func(path string) int {
		a := s.get(path, "Accept-Encoding", "gzip")
		if a.status != 200 || a.header.Get("Content-Encoding") != "gzip" {
			t.Fatalf("%s gives %d, %s", path, a.status, a.header.Get("Content-Encoding"))
		}
		z, err := gzip.NewReader(strings.NewReader(a.body))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, z); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		return len(a.body)
	}
	fixed := wire("/static/style.css") + wire("/static/page.js") + wire("/static/waiting.js")
	for _, path := range []string{"/", "/pack?id=wren-pack", "/due", "/audit", "/records?pack=wren-pack", "/log/ride?pack=wren-pack", "/away", "/report?pack=wren-pack&pack=otter-pack", "/hindcast?pack=wren-pack"} {
		n := wire(path)
		t.Logf("%6d bytes of %s, and %d that are kept", n, path, fixed)
		if n+fixed > most {
			t.Errorf("%s takes %d bytes with its files, want at most %d", path, n+fixed, most)
		}
	}
}

// TestGraceful: what is under way when the server is told to end is finished,
// here a ride that is logged.
func TestGraceful(t *testing.T) {
	hold, held := make(chan struct{}), make(chan struct{})
	s := newSite(t, func(c *web.Config) { c.Desk = slow{c.Desk, hold, held} })
	s.fill(kite)
	type outcome struct {
		status int
		err    error
	}
	got := make(chan outcome, 1)
	go func() { // t.Fatal is not for this goroutine
		form := strings.NewReader(url.Values{"pack": {"kite-a"}, "distance": {"9"}, "step": {"keep"}}.Encode())
		req, err := http.NewRequest("POST", s.url+"/log/ride", form)
		if err != nil {
			got <- outcome{0, err}
			return
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Origin", s.url)
		out, err := s.client.Do(req)
		if err != nil {
			got <- outcome{0, err}
			return
		}
		out.Body.Close()
		got <- outcome{out.StatusCode, nil}
	}()
	select {
	case <-held:
	case o := <-got:
		t.Fatalf("the answer is %d, %v before the ride was understood", o.status, o.err)
	}
	ended := make(chan struct{})
	go func() { s.stop(); close(ended) }()
	close(hold)
	if o := <-got; o.status != 303 {
		t.Errorf("what was under way gives %d, %v", o.status, o.err)
	}
	<-ended
	if _, err := s.client.Get(s.url); err == nil {
		t.Error("it still answers")
	}
	if n := len(s.records(logbook.KindRide)); n != 13 {
		t.Errorf("there are %d rides, want 13", n)
	}
}

// slow is a desk that takes its time over words.
type slow struct {
	web.Desk
	hold, held chan struct{}
}

func (d slow) Draft(kind logbook.Kind, id string, words []typed.Word, who typed.Rider) (*web.Draft, error) {
	close(d.held)
	<-d.hold
	return d.Desk.Draft(kind, id, words, who)
}

// BenchmarkPack is the page of a pack of hundreds of records: from answers that
// are kept, and from a kept fit at a new moment.
func BenchmarkPack(b *testing.B) {
	for _, x := range []struct {
		name string
		step time.Duration
	}{{"kept answers", time.Second}, {"kept fit", time.Hour}} {
		b.Run(x.name, func(b *testing.B) {
			s := newSite(b, nil)
			from := time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC)
			s.setClock(from)
			s.fillDemo()
			at := time.Duration(0)
			page := func() {
				if a := s.get("/pack?id=wren-pack", "Accept-Encoding", "gzip"); a.status != 200 {
					b.Fatalf("status %d", a.status)
				}
			}
			page()
			for b.Loop() {
				if at += x.step; x.step < time.Hour {
					at %= time.Hour
				}
				s.setClock(from.Add(at))
				page()
			}
		})
	}
}

// failsLater is a desk whose fits fail from the second log on.
type failsLater struct {
	web.Desk
	made *atomic.Int64
}

func (d failsLater) Fit(h *logbook.History, siblings []model.Sibling) *model.Fit {
	if d.made.Add(1) > 1 {
		panic("no fit")
	}
	return d.Desk.Fit(h, siblings)
}

// TestShowsNothingRatherThanFail: what a record would tell is left out where it
// cannot be had, and the server stands.
func TestShowsNothingRatherThanFail(t *testing.T) {
	s := newSite(t, func(c *web.Config) { c.Desk, c.Fault = failsLater{c.Desk, new(atomic.Int64)}, func(error) {} })
	s.fill(kite)
	s.get("/pack?id=kite-a").wants(t, 200)
	s.post("/log/ride", "pack", "kite-a", "distance", "9", "discharged", "110 Wh").wants(t, 200, "Keep it").lacks(t, "What it shows")
	s.get("/pack?id=kite-a").wants(t, 200)
}
