package web_test

import (
	"fmt"
	"os"
	"testing"
	"time"
)

// everyPage are addresses of every kind of page, over the demo's log.
var everyPage = []struct{ name, path string }{
	{"packs", "/"}, {"pack", "/pack?id=wren-pack"}, {"pack-stopped", "/pack?id=otter-pack"}, {"log", "/log"}, {"ride", "/log/ride?pack=wren-pack"}, {"charge", "/log/charge"},
	{"service", "/log/service"}, {"addpack", "/log/pack"}, {"due", "/due"}, {"audit", "/audit"}, {"records", "/records"}, {"changes", "/changes"}, {"import", "/import"},
	{"settings", "/settings"}, {"more", "/more"}, {"away", "/away"}, {"nowhere", "/nowhere"},
	{"outlook", "/outlook"}, {"hindcast", "/hindcast"}, {"choose", "/explain"}, {"explain", "/explain?ride=wren-pack-ride-0200"}, {"record", "/record?record=ride&id=wren-pack-ride-0200"},
	{"amend", "/amend?record=ride&id=wren-pack-ride-0200"}, {"compare", "/compare?pack=wren-pack&pack=otter-pack"}, {"plan", "/plan?pack=wren-pack&difference=2"},
	{"reach", "/reach?pack=wren-pack&rest=45&rested=1&out=6&wh=120"}, {"tape", "/tape?pack=wren-pack&temp=5"}, {"sheet", "/sheet?pack=wren-pack"}, {"report", "/report?pack=wren-pack&pack=otter-pack"},
}

// TestBrowserPages opens every page at a phone's and a desk's width, light and
// dark: nothing is wider than the screen, axe finds nothing, the console is
// silent and no other host is asked.
func TestBrowserPages(t *testing.T) {
	findBrowser(t)
	if os.Getenv("PACKWANE_AXE") == "" {
		t.Log("PACKWANE_AXE is not set: the pages are not held against axe-core")
	}
	s := newSite(t, nil)
	s.setClock(time.Time{})
	s.fillDemo()
	for _, look := range []struct {
		name       string
		wide, high int64
		dark       bool
	}{{"phone-light", 360, 740, false}, {"phone-dark", 360, 740, true}, {"desk-light", 1280, 900, false}, {"desk-dark", 1280, 900, true}} {
		t.Run(look.name, func(t *testing.T) {
			b := newBrowser(t, s, look.wide, look.high)
			b.expect("status of 404")
			b.dark(look.dark)
			for _, p := range everyPage {
				b.open(p.path)
				if wide := evaluate[int64](b, "document.documentElement.scrollWidth"); wide > look.wide {
					t.Errorf("%s is %d pixels wide on a screen of %d", p.path, wide, look.wide)
				}
				b.axe(fmt.Sprintf("%s, %s", p.path, look.name))
				b.shot(p.name)
			}
		})
	}
}
