package web_test

import (
	"context"
	"fmt"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"packwane/health/logbook"
)

// live makes the site's clock that of the machine, as the browser's is.
func (s *site) live() { s.setClock(time.Time{}) }

// TestBrowserRide logs a ride end to end on a phone 360 pixels wide, by touch
// of its own buttons.
func TestBrowserRide(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.live()
	b := newBrowser(t, s, 360, 740)
	b.open("/")
	b.do(chromedp.Click(chromedp.CSS(".packs .go a")), chromedp.WaitVisible(chromedp.ID("f-distance")))
	b.do(
		chromedp.SendKeys(chromedp.ID("f-distance"), "9.5 mi"), chromedp.SendKeys(chromedp.ID("f-discharged"), "240 Wh"),
		chromedp.SendKeys(chromedp.ID("f-end"), "10 min ago"), chromedp.SetValue(chromedp.ID("f-stop"), "chosen"))
	b.do(chromedp.Click(chromedp.CSS("details.more summary")), chromedp.SendKeys(chromedp.ID("f-moving"), "42m"))
	b.shot("form")
	b.do(chromedp.Click(chromedp.CSS("form.log button")), chromedp.WaitVisible(chromedp.CSS("form.keep")))
	if text := b.text("main"); !strings.Contains(text, "15.29 km") || !strings.Contains(text, "typed as 9.5 mi") {
		t.Errorf("understood: %s", text)
	}
	b.shot("look")
	b.axe("what was understood")
	b.do(chromedp.Click(chromedp.CSS("form.keep button[value=keep]")), chromedp.WaitVisible(chromedp.CSS(".status")))
	if text := b.text("main"); !strings.Contains(text, "Logged.") {
		t.Errorf("kept: %s", text)
	}
	b.shot("kept")
	b.axe("the record")
	if n := len(s.records(logbook.KindRide)); n != 13 {
		t.Fatalf("there are %d rides, want 13", n)
	}
	b.do(chromedp.Click(chromedp.CSS("form.undo button")), chromedp.WaitVisible(chromedp.CSS("ol.changes")))
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides after undoing, want 12", n)
	}
}

// TestBrowserKeyboard logs a ride with no key but those of a keyboard, from the
// top of the first page on, and sees where it is all along.
func TestBrowserKeyboard(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.live()
	b := newBrowser(t, s, 1000, 800)
	b.open("/")
	b.do(chromedp.KeyEvent(kb.Tab))
	if got := b.focus(); !strings.Contains(got, "Skip to the page") {
		t.Errorf("the first stop is %q, want the link to skip", got)
	}
	b.tabTo("Log a ride")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`location.pathname === "/log/ride" && document.readyState === "complete"`)
	b.tabTo("f-distance")
	b.do(chromedp.KeyEvent("15.3"))
	b.tabTo("f-discharged")
	b.do(chromedp.KeyEvent("240 Wh"))
	b.tabTo("f-stop")
	b.do(chromedp.KeyEvent("I"))
	b.tabTo("Look at it")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`document.querySelector("form.keep") !== null`)
	b.tabTo("Keep it")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`document.querySelector(".status")?.textContent.includes("Logged.")`)
	rides := s.records(logbook.KindRide)
	if len(rides) != 13 {
		t.Fatalf("there are %d rides, want 13", len(rides))
	}
	if r := rides[12].(*logbook.Ride); r.DistanceKm.V != 15.3 || r.Stop != "chosen" {
		t.Errorf("kept %s", logbook.AppendJSON(nil, r))
	}
	// a form with a fault brings the focus to what is wrong
	b.expect("status of 422")
	b.open("/log/ride")
	b.tabTo("f-distance")
	b.do(chromedp.KeyEvent("far"), chromedp.KeyEvent(kb.Enter))
	b.until(`document.activeElement?.id === "errors"`)
	if at := b.focus(); strings.Contains(at, "[") {
		t.Errorf("the focus cannot be seen: %q", at)
	}
	b.tabTo("A  Distance: ")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until(`document.activeElement?.id === "f-distance"`)
}

// focus says what has the focus, by its element, its id and its text; it must be seen, with
// an outline, and not lie under the tabs.
func (b *browser) focus() string {
	b.Helper()
	return evaluate[string](b, `(() => {
		const e = document.activeElement;
		if (!e || e === document.body) return "";
		const box = e.getBoundingClientRect(), style = getComputedStyle(e);
		const at = document.elementFromPoint(box.x + Math.min(box.width, 20) / 2, box.y + Math.min(box.height, 20) / 2);
		const seen = at && (e.contains(at) || at.contains(e) || at.tagName === "LABEL");
		const marked = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
		return e.tagName + " " + e.id + " " + e.innerText + (seen ? "" : " [hidden]") + (marked ? "" : " [no outline]");
	})()`)
}

// tabTo presses the tabulator until what has the focus holds the text.
func (b *browser) tabTo(text string) {
	b.Helper()
	for range 80 {
		at := b.focus()
		if strings.Contains(at, "[") {
			b.Errorf("the focus cannot be seen: %q", at)
		}
		if strings.Contains(at, text) {
			return
		}
		b.do(chromedp.KeyEvent(kb.Tab))
	}
	b.shot("failed")
	b.Fatalf("the tabulator does not lead to %q", text)
}

// TestBrowserOffline logs while the server is stopped, on a page that was open
// already and on the one that stands in; what waited is sent once each when the
// server is back.
func TestBrowserOffline(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.live()
	b := newBrowser(t, s, 360, 740)
	b.expect("net::ERR_")
	b.expect("icon from the Manifest") // asked for while the server is stopped
	b.expect("Failed to fetch")
	b.open("/")
	b.until(`navigator.serviceWorker.controller !== null`)
	b.until(`caches.match("/away").then(r => r !== undefined)`)
	b.open("/log/ride")
	b.do(chromedp.SendKeys(chromedp.ID("f-distance"), "12.5"), chromedp.SendKeys(chromedp.ID("f-discharged"), "150 Wh"), chromedp.SendKeys(chromedp.ID("f-end"), "20 min ago"))
	b.do(chromedp.Click(chromedp.CSS("details.more summary")), chromedp.SendKeys(chromedp.ID("f-moving"), "30m"))

	address := s.address()
	s.stop()
	b.do(chromedp.Click(chromedp.CSS("form.log button")))
	b.until(`document.querySelector("#away")?.hidden === false`)
	b.until(`document.querySelector("#waiting")?.innerText.includes("One record waits in this browser")`)
	b.shot("waits")

	b.do(chromedp.Navigate(s.url + "/pack?id=kite-a")) // any page gives way to the form
	b.until(`document.querySelector("#ride-f-distance") !== null && document.querySelector("#away").hidden === false`)
	b.do(chromedp.SendKeys(chromedp.ID("ride-f-distance"), "7.25"), chromedp.SendKeys(chromedp.ID("ride-f-discharged"), "85 Wh"), chromedp.SendKeys(chromedp.ID("ride-f-end"), "2 min ago"))
	b.do(chromedp.Click(chromedp.CSS(`form[data-kind=ride] button`)))
	b.until(`document.querySelector("#waiting")?.innerText.includes("2 records wait in this browser")`)
	b.axe("the form that waits")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Fatalf("there are %d rides while it is stopped, want 12", n)
	}

	again(t, s, address)
	b.open("/")
	b.until(`document.querySelector("#waiting")?.innerText.includes("2 records that waited here were sent")`)
	b.shot("sent")
	b.axe("what was sent")
	rides := s.records(logbook.KindRide)
	if len(rides) != 14 {
		t.Fatalf("there are %d rides, want 14", len(rides))
	}
	far := fmt.Sprint(rides[12].(*logbook.Ride).DistanceKm.V, rides[13].(*logbook.Ride).DistanceKm.V)
	if far != "12.5 7.25" {
		t.Errorf("kept %s km, want 12.5 and 7.25", far)
	}
	b.open("/")
	b.until(`document.readyState === "complete" && document.querySelector("#waiting").hidden`)
	if left := evaluate[int](b, `waiting.list().then(l => l.length)`); left != 0 {
		t.Errorf("%d still wait", left)
	}
	if n := len(s.records(logbook.KindRide)); n != 14 {
		t.Errorf("there are %d rides, want 14: one was sent twice", n)
	}
}

// again serves the site at the address where it was before.
func again(t *testing.T, s *site, address string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	for {
		l, err := net.Listen("tcp", address)
		if err == nil {
			l.Close()
			break
		}
		if ctx.Err() != nil {
			t.Fatal(err)
		}
	}
	s.start(address)
	t.Cleanup(s.stop)
}

// TestBrowserOfflineOdd: what looks wrong is not kept by itself; the rider looks
// at it again.
func TestBrowserOfflineOdd(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.live()
	b := newBrowser(t, s, 360, 740)
	b.expect("net::ERR_")
	b.expect("icon from the Manifest") // asked for while the server is stopped
	b.open("/away")
	b.until(`navigator.serviceWorker.controller !== null`)
	b.do(chromedp.SendKeys(chromedp.ID("ride-f-distance"), "270"), chromedp.SendKeys(chromedp.ID("ride-f-discharged"), "85 Wh"))
	address := s.address()
	s.stop()
	b.do(chromedp.Click(chromedp.CSS(`form[data-kind=ride] button`)))
	b.until(`document.querySelector("#waiting")?.innerText.includes("One record waits")`)
	again(t, s, address)
	b.open("/")
	b.until(`document.querySelector("#waiting")?.innerText.includes("Look at it")`)
	b.shot("odd")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Fatalf("there are %d rides, want 12", n)
	}
	b.do(chromedp.Click(chromedp.CSS("#waiting button")), chromedp.WaitVisible(chromedp.ID("f-distance")))
	if got := evaluate[string](b, `document.getElementById("f-distance").value`); got != "270" {
		t.Errorf("the form holds %q, want what waited", got)
	}
}
