package web_test

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"net/url"
	"strings"
	"testing"

	"packwane/health/logbook"
)

// hostile are texts that break out of a page whose escaping has a hole.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `'-alert(1)-'`, `</title><svg onload=alert(1)>`, `]]><x>`, `&lt;b&gt;`, `javascript:alert(1)`, `{{.}}`, `../../etc/passwd`, `%2e%2e/`,
	"a\u202eb", `\u003cscript\u003e`, `?a=b&c=d#e`,
}

// TestHostileNames: whatever a board, a pack, a record or a note is called, no
// page takes a piece of it for its own.
func TestHostileNames(t *testing.T) {
	for _, text := range hostile {
		t.Run(text, func(t *testing.T) {
			s := newSite(t, nil)
			q, err := json.Marshal(text)
			if err != nil {
				t.Fatal(err)
			}
			lines := strings.NewReplacer(`"kite"`, string(q), `"kite-a"`, string(q), `"river"`, string(q), `"ride-b"`, string(q)).Replace(kite)
			s.fill(lines + `{"record":"service","id":"w","pack":` + string(q) + `,"at":"2026-05-01T10:00:00Z","kind":"water","note":` + string(q) + `}` + "\n")
			id := url.QueryEscape(text)
			for _, path := range []string{
				"/", "/pack?id=" + id, "/records?pack=" + id, "/record?record=ride&id=" + id, "/amend?record=ride&id=" + id, "/log/ride?pack=" + id, "/log/service?pack=" + id + "&note=" + id, "/due", "/audit", "/away", "/changes",
				"/explain?ride=" + id, "/reach?rest=38&pack=" + id, "/compare?pack=" + id + "&speed=" + id, "/plan?difference=2&pack=" + id, "/outlook?pack=" + id, "/sheet?pack=" + id, "/pair/" + url.PathEscape(text),
			} {
				a := s.get(path)
				if a.status >= 500 {
					t.Errorf("%s gives %d", path, a.status)
				}
				if strings.HasPrefix(a.body, "<!doctype") {
					sound(t, path, a.body)
				}
			}
			a := s.post("/log/ride", "pack", text, "distance", "9", "note", text, "route", text)
			sound(t, "/log/ride", a.body)
			a = s.post("/log/ride", "pack", text, "distance", text, "note", text)
			sound(t, "/log/ride", a.body)
		})
	}
}

// elements are those that the pages are made of.
var elements = map[string]bool{}

func init() {
	for _, name := range strings.Fields(`html head meta title link script body a header p nav ul ol li svg path rect circle text g desc span main div h1 h2 h3 dl dt dd b section article details summary form input
		button label select option textarea datalist fieldset legend table caption thead tbody tr th td code noscript`) {
		elements[name] = true
	}
}

// sound walks a page's elements and attributes: only those that the pages are
// made of are there, no attribute runs anything, and links stay here.
func sound(t *testing.T, where, body string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(body))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Errorf("%s does not parse: %v", where, err)
			return
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		if !elements[e.Name.Local] {
			t.Errorf("%s holds an element %q", where, e.Name.Local)
		}
		for _, a := range e.Attr {
			name, value := strings.ToLower(a.Name.Local), strings.ToLower(strings.TrimSpace(a.Value))
			switch {
			case strings.HasPrefix(name, "on") || name == "style" || name == "srcdoc" || name == "formaction":
				t.Errorf("%s: %s has %s=%q", where, e.Name.Local, name, value)
			case name == "href" || name == "src" || name == "action":
				if !strings.HasPrefix(value, "/") && !strings.HasPrefix(value, "#") || strings.HasPrefix(value, "//") {
					t.Errorf("%s: %s leads to %q", where, e.Name.Local, value)
				}
			}
		}
	}
}

// TestOddRequests: no request, however odd, is a fault of the server's.
func TestOddRequests(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	for _, path := range []string{
		"/pack", "/pack?id=", "/pack?id=none", "/pack?id=%ff%fe", "/pack?id=kite-a%00", "/records?from=-5&pack=kite-a", "/records?from=99999999999999999999&pack=kite-a", "/records?kind=x&pack=kite-a",
		"/log/ride?pack=none", "/log/", "/log/ride/x", "/reach?rest=1e999", "/reach?rest=4.1&pack=kite-a", "/reach?rest=NaN", "/reach?rest=-4", "/reach?out=9999999", "/plan?difference=0&pack=kite-a", "/plan?pack=a&pack=b&pack=c",
		"/compare?pack=kite-a&pack=kite-a", "/compare?pack=none&pack=kite-a", "/explain?ride=none", "/explain?ride=charge-a", "/feed/x.ics", "/feed/.ics", "/hindcast?pack=kite-a", "/amend?record=ride&id=none", "/?%zz", "/pack?id=a;b", "/record",
	} {
		if a := s.get(path); a.status >= 500 {
			t.Errorf("%s gives %d", path, a.status)
		}
	}
	for _, x := range []struct{ path, kind, body string }{
		{"/log/ride", "application/x-www-form-urlencoded", "%zz"}, {"/log/ride", "text/plain", "x"}, {"/amend", "application/x-www-form-urlencoded", "record=ride&id=ride-a&rev=x"},
		{"/amend", "application/x-www-form-urlencoded", "record=ride&id=ride-a&rev=7"}, {"/record/restore", "application/x-www-form-urlencoded", "record=ride&id=ride-a&rev=1&back=9"}, {"/record/remove", "application/x-www-form-urlencoded", "record=x&id=ride-a&rev=1"},
		{"/import", "text/plain", "x"}, {"/import", "multipart/form-data", "x"}, {"/import", "multipart/form-data; boundary=b", "--b\r\n"}, {"/settings", "application/x-www-form-urlencoded", "units=cubits"},
		{"/wait", "application/json", "{"}, {"/wait", "text/plain", "{}"}, {"/wait", "application/json", `{"kind":"pack","fields":{"id":"x"}}`}, {"/wait", "application/json", `{"kind":"ride","extra":1}`},
	} {
		if a := s.do("POST", x.path, x.body, "Content-Type", x.kind, "Origin", s.url); a.status < 400 || a.status >= 500 {
			t.Errorf("%s with %q gives %d: %s", x.path, x.body, a.status, clip(a.body))
		}
	}
	if len(s.records(logbook.KindRide)) != 12 {
		t.Error("something was changed")
	}
}
