package web_test

import (
	"html"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"packwane/health/logbook"
)

// hidden reads the hidden fields of the form that leads to action.
func hidden(t *testing.T, body, action string) url.Values {
	t.Helper()
	_, form, ok := strings.Cut(body, `action="`+action+`"`)
	if !ok {
		t.Fatalf("no form leads to %s in %s", action, clip(body))
	}
	form, _, _ = strings.Cut(form, "</form>")
	out := url.Values{}
	for _, m := range regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`).FindAllStringSubmatch(form, -1) {
		out.Set(m[1], html.UnescapeString(m[2]))
	}
	return out
}

// send posts a form of fields that were read off a page, with more.
func (s *site) send(path string, fields url.Values, more ...string) answer {
	s.t.Helper()
	pairs := more
	for name := range fields {
		pairs = append(pairs, name, fields.Get(name))
	}
	return s.post(path, pairs...)
}

// TestLogInTwoSteps: what was typed is shown as it was understood, and kept
// only then.
func TestLogInTwoSteps(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.get("/log/ride").wants(t, 200, "For <b>kite-a</b>", "last 26.6 km", `name="distance"`)
	a := s.post("/log/ride", "pack", "kite-a", "units", "metric", "distance", "9.5 mi", "discharged", "165 Wh", "end", "11:40", "moving", "40 min", "tyre", "35 psi", "ambient", "59 F").
		wants(t, 200, "Is this right?", "15.29 km", "typed as 9.5 mi", "165 Wh", "241.3 kPa", "typed as 35 psi", "15 °C", "today 11:40", "Keep it")
	if got := len(s.records(logbook.KindRide)); got != 12 {
		t.Fatalf("there are %d rides before it is kept, want 12", got)
	}
	fields := hidden(t, a.body, "/log/ride")
	s.setClock(noon.Add(3 * time.Hour)) // the answer may take its time: "11:40" stays the same
	a = s.send("/log/ride", fields, "step", "keep").wants(t, 303)
	rides := s.records(logbook.KindRide)
	if len(rides) != 13 {
		t.Fatalf("there are %d rides, want 13", len(rides))
	}
	r := rides[len(rides)-1].(*logbook.Ride)
	// 9.5 mi = 15.288768 km exactly (1 mi = 1.609344 km, international yard and
	// pound agreement of 1959)
	if got := logbook.FormatNumber(r.DistanceKm.V); got != "15.288768" || !r.End.Equal(noon.Add(-20*time.Minute)) || r.Board != "kite" {
		t.Errorf("kept %s", logbook.AppendJSON(nil, r))
	}
	s.get(a.header.Get("Location")).wants(t, 200, "Logged.", "Undo it")

	// the same again, as by a second click
	a = s.send("/log/ride", fields, "step", "keep").wants(t, 303)
	if !strings.Contains(a.header.Get("Location"), "done=there") || len(s.records(logbook.KindRide)) != 13 {
		t.Errorf("a second click leads to %s", a.header.Get("Location"))
	}
}

// TestLogChange: from the second step back to the first, nothing typed is lost.
func TestLogChange(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	a := s.post("/log/charge", "pack", "kite-a", "charged", "11.8 Ah", "full", "yes", "note", `two "lines"`+"\r\nof it").wants(t, 200, "two &#34;lines&#34;")
	a = s.send("/log/charge", hidden(t, a.body, "/log/charge"), "step", "change").wants(t, 200, `value="11.8 Ah"`, `<option value="yes" selected>`, "two &#34;lines&#34;\nof it")
	if len(s.records(logbook.KindCharge)) != 12 {
		t.Error("something was kept on the way back")
	}
}

// TestLogFaults: what cannot be understood is said beside its field, and
// nothing typed is lost.
func TestLogFaults(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.post("/log/ride", "pack", "kite-a", "distance", "far", "discharged", "4", "ambient", "18 C").
		wants(t, 422, `id="f-distance-error"`, `aria-invalid="true"`, `href="#f-distance"`, `value="far"`, `value="18 C"`, "want a number with its unit, Ah or Wh")
	s.post("/log/ride", "pack", "kite-a", "distance", "9", "at", "11:00", "end", "yesterday 9:00").wants(t, 422, `id="f-end-error"`)
	s.post("/log/ride", "pack", "nothing", "distance", "9").wants(t, 404)
	s.post("/log/boat", "pack", "kite-a").wants(t, 404)
	s.post("/log/pack", "series", "10").wants(t, 422, `id="f-id-error"`)
	s.post("/log/ride", "pack", "kite-a", "board", "kite").wants(t, 422, "Nothing was filled in")
	s.post("/log/service", "pack", "kite-a", "kind", "snacks").wants(t, 422, "want one of inspection")
	if len(s.records(logbook.KindRide)) != 12 {
		t.Error("something was kept")
	}
}

// TestLogSlips: a slip is shown before it is kept, and kept only against
// advice, with a mark.
func TestLogSlips(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	fields := []string{"pack", "kite-a", "distance", "270", "discharged", "11 Ah", "end", "11:50", "moving", "1h10m"}
	a := s.post("/log/ride", fields...).wants(t, 200, "This looks wrong", "distance 270 km", "Keep it against advice")
	s.post("/log/ride", append(fields, "step", "keep")...).wants(t, 200, "This looks wrong") // not without a word for it
	if len(s.records(logbook.KindRide)) != 12 {
		t.Fatal("a slip was kept without being asked")
	}
	a = s.send("/log/ride", hidden(t, a.body, "/log/ride"), "step", "keep").wants(t, 303)
	s.get(a.header.Get("Location")).wants(t, 200, "kept against advice: distance_km")
	s.get("/audit").wants(t, 200, "kept against advice")
}

// TestLogFirst: an empty log begins with a board and a pack.
func TestLogFirst(t *testing.T) {
	s := newSite(t, nil)
	s.get("/").wants(t, 200, "Nothing is logged yet", `href="/log/pack"`)
	s.get("/due").wants(t, 200, "no pack is logged yet")
	s.get("/audit").wants(t, 200)
	s.get("/reach").wants(t, 200, "No pack yet")
	s.get("/log/ride").wants(t, 200, "No pack yet")
	s.post("/log/board", "id", "wren", "mass", "25 lb", "step", "keep").wants(t, 303)
	s.get("/").wants(t, 200, "There is a board and no pack yet")
	s.post("/log/pack", "id", "wren-a", "board", "wren", "series", "10", "parallel", "2", "chemistry", "nmc", "step", "keep").wants(t, 303)
	s.get("/").wants(t, 200, "wren-a", "nothing logged yet", "unknown")
	s.get("/pack?id=wren-a").wants(t, 200, "low-voltage limit is not in the log", "never ride on below it")
	s.post("/log/pack", "id", "wren-a", "series", "12", "step", "keep").wants(t, 422, "is there already")
}

// TestCautions: what can hurt somebody is cautioned about where it is logged.
func TestCautions(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.get("/log/charge").wants(t, 200, "Caution.", "below 0 °C")
	s.get("/pack?id=kite-a").wants(t, 200, "Never ride on below 31 V under load")
	s.get("/reach?pack=kite-a&rest=38").wants(t, 200, "Caution.", "31 V")
	a := s.post("/log/service", "pack", "kite-a", "kind", "warning_sign", "step", "keep").wants(t, 303)
	s.get(a.header.Get("Location")).wants(t, 200, "call the fire service")
	s.get("/").wants(t, 200, "Stop riding", "Log an inspection").lacks(t, "Log a ride")
	for _, path := range []string{"/pack?id=kite-a", "/reach?pack=kite-a", "/tape?pack=kite-a", "/outlook?pack=kite-a", "/sheet?pack=kite-a", "/explain?ride=ride-c", "/due"} {
		s.get(path).wants(t, 200, "Stop riding", "Do not ride, charge or open it")
	}
}

// TestUndo takes back what the page said, and nothing else.
func TestUndo(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	a := s.post("/log/ride", "pack", "kite-a", "distance", "9", "step", "keep").wants(t, 303)
	a = s.get(a.header.Get("Location"))
	undo := hidden(t, a.body, "/undo")
	s.post("/log/charge", "pack", "kite-a", "charged", "4 Ah", "step", "keep").wants(t, 303) // meanwhile, elsewhere
	s.send("/undo", undo).wants(t, 409, "Something else was changed")
	if len(s.records(logbook.KindCharge)) != 13 || len(s.records(logbook.KindRide)) != 13 {
		t.Fatal("something was taken back")
	}
	a = s.get("/changes").wants(t, 200, "logged charge-")
	a = s.send("/undo", hidden(t, a.body, "/undo")).wants(t, 303)
	a = s.get(a.header.Get("Location")).wants(t, 200, "Taken back.", "undone since")
	if len(s.records(logbook.KindCharge)) != 12 || len(s.records(logbook.KindRide)) != 13 {
		t.Fatal("the wrong change was taken back")
	}
	s.send("/redo", hidden(t, a.body, "/redo")).wants(t, 303)
	if len(s.records(logbook.KindCharge)) != 13 {
		t.Error("it was not made again")
	}
	s.post("/undo", "seq", "x").wants(t, 409)
}

// TestAmend: only what was changed is changed, and rounding that the form
// shows does not reach the log.
func TestAmend(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite + `{"record":"ride","id":"exact","pack":"kite-a","at":"2026-05-01T10:00:00+02:00","distance_km":14.123456789,"ambient_c":12.345678,"note":"as it was"}` + "\n")
	a := s.get("/amend?record=ride&id=exact").wants(t, 200, `value="14.12 km"`, "as it was")
	fields := hidden(t, a.body, "/amend")
	a = s.send("/amend", fields, "pack", "kite-a", "distance", "14.12 km", "ambient", "12.35 °C", "at", "Fri 1 May 10:00", "note", "as it is").
		wants(t, 200, "note: as it was → as it is").wants(t, 200, "Keep it")
	a = s.send("/amend", hidden(t, a.body, "/amend"), "step", "keep").wants(t, 303)
	s.get(a.header.Get("Location")).wants(t, 200, "Amended", "revision 2", "Bring back revision 1")
	r := s.records(logbook.KindRide)
	got := string(logbook.AppendJSON(nil, r[len(r)-1]))
	if want := `{"record":"ride","id":"exact","rev":2,"pack":"kite-a","at":"2026-05-01T10:00:00+02:00","distance_km":14.123456789,"ambient_c":12.345678,"note":"as it is"}`; got != want {
		t.Errorf("kept %s, want %s", got, want)
	}
}

// TestAmendShown: the form shows times as it takes them, so that one that was
// left alone is not changed.
func TestAmendShown(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	a := s.get("/amend?record=ride&id=ride-l").wants(t, 200)
	fields := hidden(t, a.body, "/amend")
	for _, m := range regexp.MustCompile(`<input id="[^"]*" name="([^"]*)" value="([^"]+)"`).FindAllStringSubmatch(a.body, -1) {
		fields.Set(m[1], html.UnescapeString(m[2]))
	}
	for _, m := range regexp.MustCompile(`(?s)<select id="[^"]*" name="([^"]*)".*?</select>`).FindAllStringSubmatch(a.body, -1) {
		if v := regexp.MustCompile(`<option value="([^"]*)" selected>`).FindStringSubmatch(m[0]); v != nil {
			fields.Set(m[1], v[1])
		}
	}
	s.send("/amend", fields).wants(t, 200, "Nothing would change.")
	a = s.send("/amend", fields, "step", "keep").wants(t, 303)
	s.get(a.header.Get("Location")).wants(t, 200, "Nothing changes").lacks(t, "revision 2")
}

// TestAmendConflict: of two who amend the same revision, one is told.
func TestAmendConflict(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	fields := hidden(t, s.get("/amend?record=ride&id=ride-c").body, "/amend")
	base := url.Values{}
	for name := range fields {
		base.Set(name, fields.Get(name))
	}
	before := s.get("/amend?record=ride&id=ride-c").body
	for _, m := range regexp.MustCompile(`<input id="[^"]*" name="([^"]*)" value="([^"]+)"`).FindAllStringSubmatch(before, -1) {
		base.Set(m[1], html.UnescapeString(m[2]))
	}
	base.Set("pack", "kite-a")
	base.Set("board", "kite")
	base.Set("stop", "limit")
	var wg sync.WaitGroup
	status := make([]int, 6)
	for i := range status {
		wg.Go(func() {
			f := url.Values{}
			for name := range base {
				f.Set(name, base.Get(name))
			}
			f.Set("note", "by "+string(rune('a'+i)))
			f.Set("step", "keep")
			status[i] = s.untilFree(func() answer {
				return s.do("POST", "/amend", f.Encode(), "Content-Type", "application/x-www-form-urlencoded", "Origin", s.url)
			}).status
		})
	}
	wg.Wait()
	kept := 0
	for _, code := range status {
		switch code {
		case 303:
			kept++
		case 409:
		default:
			t.Errorf("status %d, want 303 or 409", code)
		}
	}
	if kept != 1 {
		t.Errorf("%d of six were kept, want 1: %v", kept, status)
	}
	s.get("/record?record=ride&id=ride-c").wants(t, 200, "revision 2").lacks(t, "revision 3")
	s.send("/amend", base, "step", "keep", "note", "late").wants(t, 409, "you saw revision 1, the log has revision 2")
	s.send("/record/remove", url.Values{"record": {"ride"}, "id": {"ride-c"}, "rev": {"1"}}).wants(t, 409)
}

// TestRemoveRestore: nothing is lost.
func TestRemoveRestore(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	a := s.get("/record?record=ride&id=ride-c").wants(t, 200, "Remove it")
	a = s.send("/record/remove", hidden(t, a.body, "/record/remove")).wants(t, 303)
	a = s.get(a.header.Get("Location")).wants(t, 200, "Removed.", "Bring back revision 1")
	if len(s.records(logbook.KindRide)) != 11 {
		t.Fatal("it was not removed")
	}
	s.send("/record/restore", hidden(t, a.body, "/record/restore")).wants(t, 303)
	if len(s.records(logbook.KindRide)) != 12 {
		t.Fatal("it was not brought back")
	}
	s.get("/record?record=ride&id=none").wants(t, 404)
	s.get("/record?record=boat&id=ride-c").wants(t, 404)
}

// TestLogShows: before a record is kept the page says what it would tell, and
// what that makes due.
func TestLogShows(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.post("/log/ride", "pack", "kite-a", "distance", "21", "discharged", "11 Ah", "discharged_wh", "395 Wh", "at", "yesterday 10:00", "end", "+1h10m", "moving", "65 min", "ambient", "3 C", "stop", "limit").
		wants(t, 200, "What it shows", "it shows", "main cause", "with it", "next time")
	s.post("/log/service", "pack", "kite-a", "kind", "water").wants(t, 200, "What it shows", "makes due", "Stop riding: water got in")
	s.post("/log/service", "pack", "kite-a", "kind", "water", "step", "keep").wants(t, 303)
	for _, kind := range []string{"ride", "charge"} { // before one is logged, and before it is kept
		s.get("/log/"+kind+"?pack=kite-a").wants(t, 200, `class="grave alarm"`, "Stop riding", "Water got in")
	}
	s.post("/log/ride", "pack", "kite-a", "distance", "9").wants(t, 200, `class="grave alarm"`, "Water got in")
	s.get("/sheet?pack=kite-a").wants(t, 200, "Water got in", "Do not charge it for a test").lacks(t, "Write down") // and no empty card of a test
	s.get("/reach?pack=kite-a&rest=38&out=3").wants(t, 200, "Water got in", "No distance is told").lacks(t, "turn back")
	s.post("/log/service", "pack", "kite-a", "kind", "inspection", "passed", "yes").wants(t, 200, "settles", "stop riding (water unchecked)")
	s.post("/log/service", "pack", "kite-a", "kind", "storage", "until", "in 30 days", "at", "in 2 days").lacks(t, "What it shows")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides, want 12: something was kept", n)
	}
}
