package web_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"packwane/health/logbook"
)

// TestBrowserDark: a picture in the page takes the colours of the scheme, to
// the last of them.
func TestBrowserDark(t *testing.T) {
	s := newSite(t, nil)
	s.live()
	s.fillDemo()
	b := newBrowser(t, s, 1280, 900)
	b.open("/pack?id=wren-pack")
	colours := `(() => [...new Set([...document.querySelectorAll(".chart *")].flatMap(e => [getComputedStyle(e).fill, getComputedStyle(e).stroke]))].join(" "))()`
	b.dark(false)
	light := evaluate[string](b, colours)
	b.dark(true)
	dark := evaluate[string](b, colours)
	if light == dark {
		t.Error("the pictures look the same in both schemes")
	}
	left := evaluate[string](b, `(() => {
		const light = new Set(), out = new Set();
		for (const e of document.querySelectorAll(".chart [fill], .chart [stroke]"))
			for (const name of ["fill", "stroke"])
				if (e.hasAttribute(name) && e.getAttribute(name) !== "none") {
					const box = document.createElement("i");
					box.style.setProperty("color", e.getAttribute(name));
					document.body.append(box);
					if (getComputedStyle(box).color === getComputedStyle(e)[name]) out.add(e.getAttribute(name));
					box.remove();
				}
		return [...out].join(" ");
	})()`)
	if left != "" {
		t.Errorf("colours that stay light in the dark: %s", left)
	}
	paper := evaluate[string](b, `getComputedStyle(document.querySelector(".card")).backgroundColor`)
	if paper != "rgb(18, 23, 28)" {
		t.Errorf("cards are %s in the dark, want that of the pictures", paper)
	}
}

// TestBrowserImport puts a file into the form and has it taken.
func TestBrowserImport(t *testing.T) {
	s := newSite(t, nil)
	s.live()
	b := newBrowser(t, s, 360, 740)
	file := filepath.Join(t.TempDir(), "kite.jsonl")
	if err := os.WriteFile(file, []byte(kite), 0o600); err != nil {
		t.Fatal(err)
	}
	b.open("/import")
	b.do(chromedp.SetUploadFiles(chromedp.ID("f-file"), []string{file}), chromedp.Click(chromedp.CSS("form.drop button")), chromedp.WaitVisible(chromedp.CSS(".status")))
	b.shot("imported")
	b.axe("imported")
	if n := len(s.records(logbook.KindRide)); n != 12 {
		t.Errorf("there are %d rides, want 12", n)
	}
	// the same by a drop, as far as a script can drop
	b.open("/import")
	evaluate[bool](b, `(() => {
		const data = new DataTransfer();
		data.items.add(new File([`+quoted(kite)+`], "dropped.jsonl"));
		document.querySelector("form.drop").dispatchEvent(new DragEvent("drop", {dataTransfer: data, bubbles: true, cancelable: true}));
		return true;
	})()`)
	b.until(`document.querySelector(".status")?.innerText.includes("dropped.jsonl: unchanged 1 board")`)
}

// TestBrowserImportOthers takes a log of volts and amperes and a track from
// their files to the log.
func TestBrowserImportOthers(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.live()
	b := newBrowser(t, s, 360, 740)
	choose := func(name, content, until string) {
		file := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(file, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		b.open("/import")
		b.do(chromedp.SetUploadFiles(chromedp.ID("f-file"), []string{file}), chromedp.Click(chromedp.CSS("form.drop button")), chromedp.WaitVisible(chromedp.CSS(until)))
		b.shot("import-" + name)
		b.axe("import of " + name)
		if wide := evaluate[int64](b, "document.documentElement.scrollWidth"); wide > 360 {
			t.Errorf("%s: the page is %d pixels wide on a screen of 360", name, wide)
		}
	}
	choose("evening.csv", evening(), "form.keep")
	evaluate[bool](b, `document.getElementById("f-map").click() || true`)
	b.do(chromedp.Click(chromedp.CSS("form.keep button")), chromedp.WaitVisible(chromedp.CSS(".status")))
	choose("north.gpx", loopTrack(time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC)), "form.keep")
	b.do(chromedp.Click(chromedp.CSS("form.keep button")), chromedp.WaitVisible(chromedp.CSS("button[value=keep]")))
	b.shot("import-ride")
	b.do(chromedp.Click(chromedp.CSS("button[value=keep]")), chromedp.WaitVisible(chromedp.CSS(".status")))
	if n := len(s.records(logbook.KindRide)); n != 14 {
		t.Errorf("there are %d rides, want 14", n)
	}
}

// TestBrowserNoScript: every step works without script.
func TestBrowserNoScript(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.live()
	b := newBrowser(t, s, 360, 740)
	b.script(false)
	b.open("/")
	b.do(chromedp.Click(chromedp.CSS(".packs .go a")), chromedp.WaitVisible(chromedp.ID("f-distance")))
	b.do(chromedp.SendKeys(chromedp.ID("f-distance"), "15"), chromedp.SendKeys(chromedp.ID("f-discharged"), "240 Wh"))
	b.do(chromedp.Click(chromedp.CSS("form.log button")), chromedp.WaitVisible(chromedp.CSS("form.keep")))
	b.do(chromedp.Click(chromedp.CSS("form.keep button[value=keep]")), chromedp.WaitVisible(chromedp.CSS(".status")))
	if n := len(s.records(logbook.KindRide)); n != 13 {
		t.Errorf("there are %d rides, want 13", n)
	}
}
