package web_test

import (
	"encoding/json"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
)

// waited is what the page's script gets.
type waited struct{ State, Text, Path string }

// wait sends a record that waited, as the page's script does.
func (s *site) wait(body string) waited {
	s.t.Helper()
	a := s.untilFree(func() answer { return s.do("POST", "/wait", body, "Content-Type", "application/json", "Origin", s.url) })
	var out waited
	if err := json.Unmarshal([]byte(a.body), &out); err != nil || a.status != 200 {
		s.t.Fatalf("status %d, %v: %s", a.status, err, a.body)
	}
	return out
}

// offline is a ride that was typed half an hour before noon, in a zone of its
// own, by a rider whose form took miles.
const offline = `{"kind":"ride","typed":"2026-05-03T10:30:00+01:00","against":false,"fields":{"pack":"kite-a","board":"kite","units":"imperial","distance":"9.5","end":"10:20","discharged":"165 Wh"}}`

// TestWaitedOnce: a record that waited is kept once, however often and whenever
// it is sent, and means what it meant when it was typed.
func TestWaitedOnce(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	if got := s.wait(offline); got.State != "kept" || !strings.Contains(got.Path, "/record?") {
		t.Fatalf("sent: %+v", got)
	}
	rides := s.records(logbook.KindRide)
	r := rides[len(rides)-1].(*logbook.Ride)
	if got := logbook.FormatNumber(r.DistanceKm.V); got != "15.288768" || logbook.FormatTime(r.End) != "2026-05-03T10:20:00+01:00" {
		t.Errorf("kept %s", logbook.AppendJSON(nil, r))
	}
	s.setClock(noon.AddDate(0, 0, 2)) // the answer was lost; it is sent again much later
	if got := s.wait(offline); got.State != "there" {
		t.Errorf("sent again: %+v", got)
	}
	s.post("/log/ride", "pack", "kite-a", "distance", "3", "board", "", "step", "keep").wants(t, 303)
	if got := s.wait(offline); got.State != "there" {
		t.Errorf("sent after another ride: %+v", got)
	}
	if n := len(s.records(logbook.KindRide)); n != 14 {
		t.Errorf("there are %d rides, want 14", n)
	}
}

// TestWaitedAndChanged: what was amended or removed since is not brought back
// by sending it again.
func TestWaitedAndChanged(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	got := s.wait(offline)
	page := s.get(got.Path)
	s.send("/record/remove", hidden(t, page.body, "/record/remove")).wants(t, 303)
	if got := s.wait(offline); got.State != "there" {
		t.Errorf("sent again after it was removed: %+v", got)
	}
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides, want 12: it came back", n)
	}
}

// TestWaitedTogether: two tabs that send the same at once make one record.
func TestWaitedTogether(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	var wg sync.WaitGroup
	states := make([]string, 8)
	for i := range states {
		wg.Go(func() { states[i] = s.wait(offline).State })
	}
	wg.Wait()
	for _, state := range states {
		if state != "kept" && state != "there" {
			t.Errorf("one was %s", state)
		}
	}
	if n := len(s.records(logbook.KindRide)); n != 13 {
		t.Errorf("there are %d rides, want 13", n)
	}
}

// TestWaitedOdd: what looks wrong or cannot be understood stays with the rider.
func TestWaitedOdd(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	far := strings.Replace(offline, `"9.5"`, `"270"`, 1)
	if got := s.wait(far); got.State != "odd" || !strings.Contains(got.Text, "270 mi") {
		t.Errorf("270 mi: %+v", got)
	}
	if got := s.wait(strings.Replace(far, `"against":false`, `"against":true`, 1)); got.State != "kept" {
		t.Errorf("270 mi, against advice: %+v", got)
	}
	if got := s.wait(strings.Replace(offline, `"9.5"`, `"far"`, 1)); got.State != "refused" || !strings.Contains(got.Text, "distance") {
		t.Errorf("far: %+v", got)
	}
	if got := s.wait(strings.Replace(offline, `"kite-a"`, `"gone"`, 1)); got.State != "refused" {
		t.Errorf("a pack that is gone: %+v", got)
	}
	if n := len(s.records(logbook.KindRide)); n != 13 {
		t.Errorf("there are %d rides, want 13", n)
	}
}

// TestWaitedClock: a moment far off is not believed.
func TestWaitedClock(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	for i, typed := range []string{"2026-05-03T12:06:00+02:00", "2020-01-01T00:00:00Z", "yesterday"} {
		body := strings.Replace(strings.Replace(strings.Replace(offline, "2026-05-03T10:30:00+01:00", typed, 1), `"end":"10:20",`, "", 1), `"9.5"`, `"`+string(rune('5'+i))+`"`, 1)
		s.setClock(noon.Add(time.Duration(i) * time.Hour))
		if got := s.wait(body); got.State != "kept" {
			t.Fatalf("%s: %+v", typed, got)
		}
		rides := s.records(logbook.KindRide)
		if r := rides[len(rides)-1].(*logbook.Ride); !r.At.Equal(s.clock()) {
			t.Errorf("typed at %s is kept at %s, want %s", typed, r.At, s.clock())
		}
	}
}

// TestAway: the form that a browser keeps has every pack in it, explicitly, and
// at most six fields in sight.
func TestAway(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite + `{"record":"pack","id":"kite-b","board":"kite","series":10}` + "\n")
	a := s.get("/away").wants(t, 200, `action="/log/ride"`, `action="/log/charge"`, `action="/log/check"`, `action="/log/service"`, `<option value="kite-b"`, `name="units" value="metric"`)
	for _, form := range strings.Split(a.body, "<form ")[1:] {
		form, _, _ = strings.Cut(form, "</form>")
		sight, _, _ := strings.Cut(form, "<details")
		if n := strings.Count(sight, "<label"); n > 6 || n < 5 {
			t.Errorf("%d fields are in sight, want at most six: %s", n, sight)
		}
	}
}

// TestSixInSight: every form shows at most six fields before anything is
// opened.
func TestSixInSight(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	for _, kind := range kinds {
		body := s.get("/log/"+kind).wants(t, 200).body
		_, form, _ := strings.Cut(body, `class="log"`)
		sight, _, _ := strings.Cut(form, "<details")
		if n := strings.Count(sight, "<label"); n < 4 || n > 6 {
			t.Errorf("%s: %d fields are in sight, want at most six", kind, n)
		}
		takes := map[string]bool{}
		for _, m := range regexp.MustCompile(` name="([^"]+)"`).FindAllStringSubmatch(form, -1) {
			if n, err := typed.Find(mustKind(t, kind), m[1]); err == nil {
				for _, f := range n.Fields {
					takes[f.Name] = true
				}
			}
		}
		for _, f := range typed.Settable(mustKind(t, kind)) {
			if !takes[f.Name] {
				t.Errorf("%s: no input takes %s", kind, f.Name)
			}
		}
	}
}

func mustKind(t *testing.T, name string) logbook.Kind {
	t.Helper()
	k, ok := logbook.KindOf(name)
	if !ok {
		t.Fatalf("no kind %q", name)
	}
	return k
}
