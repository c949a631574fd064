package web_test

import (
	"crypto/tls"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"packwane/cmd/packwane/internal/web"
	"packwane/health/logbook"
)

// TestHeaders: every answer carries the guard's headers, whatever it is, and
// nothing on a page is inline.
func TestHeaders(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	for _, path := range []string{"/", "/pack?id=kite-a", "/log/ride", "/nowhere", "/static/style.css", "/worker.js", "/away", "/due"} {
		a := s.get(path)
		for name, want := range map[string]string{
			"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "same-origin",
			"Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
		} {
			if got := a.header.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", path, name, got, want)
			}
		}
		csp := a.header.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: the policy lacks %s: %s", path, want, csp)
			}
		}
		if strings.Contains(csp, "unsafe") || strings.Contains(csp, "data:") {
			t.Errorf("%s: the policy is loose: %s", path, csp)
		}
		if inline := regexp.MustCompile(`(?i)<style|<script[^>]*>[^<]|\sstyle=|\son[a-z]+=|javascript:`).FindString(a.body); inline != "" && strings.HasPrefix(a.body, "<!doctype") {
			t.Errorf("%s holds %q", path, inline)
		}
	}
}

// TestHosts: only requests that name this server are answered (DNS rebinding).
func TestHosts(t *testing.T) {
	s := newSite(t, func(c *web.Config) { c.Names = []string{"board.example"} })
	port := s.url[strings.LastIndex(s.url, ":"):]
	for host, want := range map[string]int{
		"127.0.0.1" + port: 200, "localhost" + port: 200, "[::1]" + port: 200, "localhost.": 200, "LOCALHOST:1": 200, "board.example" + port: 200,
		"rebind.example" + port: 421, "192.0.2.7" + port: 421, "127.0.0.1.rebind.example": 421, "localhost.rebind.example" + port: 421, "0.0.0.0" + port: 421, "board.example.": 200, "xboard.example": 421,
	} {
		a := s.get("/", "Host", host)
		if a.status != want {
			t.Errorf("host %q: status %d, want %d", host, a.status, want)
		}
		if a.status == 421 && strings.Contains(a.body, "<") {
			t.Errorf("host %q gets a page: %s", host, a.body)
		}
	}
}

// TestOrigins: what changes something is taken from this server's own pages
// alone, and other sites get no part of it.
func TestOrigins(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	form := url.Values{"pack": {"kite-a"}, "distance": {"9"}, "step": {"keep"}}.Encode()
	for _, x := range []struct {
		name    string
		headers []string
		want    int
	}{
		{"its own", []string{"Origin", s.url}, 303},
		{"its own, by fetch metadata too", []string{"Origin", s.url, "Sec-Fetch-Site", "same-origin"}, 303},
		{"none", nil, 403},
		{"null", []string{"Origin", "null"}, 403},
		{"another site", []string{"Origin", "http://evil.example"}, 403},
		{"another port", []string{"Origin", "http://127.0.0.1:1"}, 403},
		{"another scheme", []string{"Origin", "https" + strings.TrimPrefix(s.url, "http")}, 403},
		{"its own, sent from elsewhere", []string{"Origin", s.url, "Sec-Fetch-Site", "cross-site"}, 403},
		{"its own, from a neighbour", []string{"Origin", s.url, "Sec-Fetch-Site", "same-site"}, 403},
	} {
		before := len(s.records(logbook.KindRide))
		a := s.do("POST", "/log/ride", form, append([]string{"Content-Type", "application/x-www-form-urlencoded"}, x.headers...)...)
		if a.status != x.want {
			t.Errorf("%s: status %d, want %d", x.name, a.status, x.want)
		}
		if after := len(s.records(logbook.KindRide)); a.status == 403 && after != before {
			t.Errorf("%s: refused, and yet %d rides became %d", x.name, before, after)
		}
	}
	for _, path := range []string{"/log/ride", "/amend", "/undo", "/redo", "/record/remove", "/record/restore", "/import", "/settings", "/wait", "/feed", "/pair/now", "/pair/another", "/pair/end"} {
		s.do("POST", path, "", "Origin", "http://evil.example").wants(t, 403)
	}
	for _, x := range []struct {
		site, mode, dest string
		want             int
	}{
		{"cross-site", "navigate", "document", 200}, // a link that is followed
		{"cross-site", "navigate", "iframe", 403}, {"cross-site", "no-cors", "image", 403}, {"same-site", "cors", "empty", 403}, {"same-origin", "no-cors", "style", 200}, {"none", "navigate", "document", 200},
	} {
		s.get("/", "Sec-Fetch-Site", x.site, "Sec-Fetch-Mode", x.mode, "Sec-Fetch-Dest", x.dest).wants(t, x.want)
	}
}

// TestMethods: a page is got, and changed by its own form alone.
func TestMethods(t *testing.T) {
	s := newSite(t, nil)
	for _, method := range []string{"PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"} {
		if a := s.do(method, "/", "", "Origin", s.url); a.status < 400 {
			t.Errorf("%s / gives %d", method, a.status)
		}
	}
	for _, path := range []string{"/undo", "/record/remove", "/wait"} {
		if a := s.get(path); a.status < 400 {
			t.Errorf("GET %s gives %d", path, a.status)
		}
	}
	if a := s.do("HEAD", "/", ""); a.status != 200 || a.body != "" {
		t.Errorf("HEAD / gives %d and %d bytes", a.status, len(a.body))
	}
}

// TestSizes: a body that is too large is refused, whatever it says of itself.
func TestSizes(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	large := "note=" + strings.Repeat("a", 65<<10)
	s.do("POST", "/log/ride", large, "Content-Type", "application/x-www-form-urlencoded", "Origin", s.url).wants(t, 413, "Too large")
	s.do("POST", "/wait", `{"kind":"`+strings.Repeat("a", 65<<10)+`"}`, "Content-Type", "application/json", "Origin", s.url).wants(t, 413)
	s.get("/"+strings.Repeat("a", 40<<10)).wants(t, 431)
	if got := len(s.records(logbook.KindRide)); got != 12 {
		t.Errorf("there are %d rides, want 12", got)
	}
}

// TestRates: one client cannot ask without end; it may go on after a while.
func TestRates(t *testing.T) {
	s := newSite(t, nil)
	refused := 0
	for range 300 {
		if a := s.get("/more"); a.status == http.StatusTooManyRequests {
			refused++
			if a.header.Get("Retry-After") == "" {
				t.Fatal("it does not say when to try again")
			}
		}
	}
	if refused != 100 {
		t.Errorf("%d of 300 requests were refused, want 100: 200 fit at once", refused)
	}
	s.setClock(noon.Add(5 * time.Second))
	s.get("/more").wants(t, 200)
}

// TestPairing walks the way of a browser on the network.
func TestPairing(t *testing.T) {
	s := newSite(t, func(c *web.Config) { c.Pair = true })
	s.fill(kite)
	for _, path := range []string{"/", "/pack?id=kite-a", "/log/ride", "/records", "/away", "/settings"} {
		s.get(path).wants(t, 401, "Not paired").lacks(t, "kite", `class="tabs"`)
	}
	if a := s.post("/log/ride", "pack", "kite-a", "distance", "9", "step", "keep"); a.status != 401 {
		t.Errorf("an unpaired browser logs: %d", a.status)
	}
	if len(s.links) != 1 || !strings.HasPrefix(s.links[0], "/pair/") || len(s.links[0]) < len("/pair/")+26 {
		t.Fatalf("links %q: want one, with 128 bits of chance", s.links)
	}
	token := strings.TrimPrefix(s.links[0], "/pair/")
	a := s.get(s.links[0]).wants(t, 200, "Pair this browser", token) // looking does not spend it
	if a.header.Get("Set-Cookie") != "" {
		t.Error("looking at the link makes a session")
	}
	s.post("/pair/now", "token", "AAAAAAAAAAAAAAAAAAAAAAAAAA").wants(t, 403, "The link is spent")
	s.post("/pair/now").wants(t, 403)
	a = s.post("/pair/now", "token", token).wants(t, 303)
	cookie := a.header.Get("Set-Cookie")
	for _, want := range []string{"HttpOnly", "SameSite=Strict", "Path=/", "Max-Age="} {
		if !strings.Contains(cookie, want) {
			t.Errorf("the cookie lacks %s: %s", want, cookie)
		}
	}
	if strings.Contains(cookie, token) {
		t.Error("the cookie is the link")
	}
	name, _, _ := strings.Cut(cookie, ";")
	s.get("/", "Cookie", name).wants(t, 200, "kite-a")
	s.get("/", "Cookie", name+"x").wants(t, 401)
	s.post("/pair/now", "token", token).wants(t, 403) // once

	s.do("POST", "/pair/another", "", "Origin", s.url).wants(t, 401)
	s.do("POST", "/pair/another", "", "Origin", s.url, "Cookie", name).wants(t, 303)
	if len(s.links) != 2 {
		t.Fatalf("links %q: want another", s.links)
	}
	s.setClock(noon.Add(31 * time.Minute))
	s.post("/pair/now", "token", strings.TrimPrefix(s.links[1], "/pair/")).wants(t, 403) // too late
	s.do("POST", "/pair/end", "", "Origin", s.url, "Cookie", name).wants(t, 303)
	s.get("/", "Cookie", name).wants(t, 401)
}

// TestSessionEnds: a session does not outlive its time.
func TestSessionEnds(t *testing.T) {
	s := newSite(t, func(c *web.Config) { c.Pair = true })
	a := s.post("/pair/now", "token", strings.TrimPrefix(s.links[0], "/pair/")).wants(t, 303)
	cookie, _, _ := strings.Cut(a.header.Get("Set-Cookie"), ";")
	s.setClock(noon.AddDate(0, 0, 89))
	s.get("/", "Cookie", cookie).wants(t, 200)
	s.setClock(noon.AddDate(0, 0, 91))
	s.get("/", "Cookie", cookie).wants(t, 401)
}

// TestSecureCookie: under TLS the cookie is never sent in the clear.
func TestSecureCookie(t *testing.T) {
	var links []string
	s := web.New(web.Config{Clock: func() time.Time { return noon }, TLS: &tls.Config{}, Pair: true, Link: func(p string) { links = append(links, p) }, Desk: newSite(t, nil).desk()})
	rec := serveOne(s, "POST", "/pair/now", url.Values{"token": {strings.TrimPrefix(links[0], "/pair/")}}, "https://127.0.0.1")
	if c := rec.Header().Get("Set-Cookie"); !strings.Contains(c, "Secure") {
		t.Errorf("cookie %q under TLS: want Secure", c)
	}
}

// TestPlainHTTP: a page that others can read along says so.
func TestPlainHTTP(t *testing.T) {
	s := newSite(t, nil)
	s.get("/").wants(t, 200).lacks(t, "Plain http")
	rec := serveFrom(s.server, "192.0.2.9", "/more")
	if !strings.Contains(rec.Body.String(), "Plain http: others on this network can read along") {
		t.Errorf("status %d, it does not say so: %s", rec.Code, clip(rec.Body.String()))
	}
}

// TestFiles: no path leads out of what is embedded.
func TestFiles(t *testing.T) {
	s := newSite(t, nil)
	for _, path := range []string{"/static/../guard.go", "/static/%2e%2e%2fguard.go", "/static/..%2f..%2fgo.mod", "/static//etc/passwd", "/static/style.css/../x", "/static/", "/assets/style.css", "/static/frame.html", "/static/C:%5Cwindows"} {
		if a := s.get(path); a.status == 200 {
			t.Errorf("%s gives %d and %q", path, a.status, clip(a.body))
		}
	}
	a := s.get("/static/style.css").wants(t, 200)
	if got := a.header.Get("Cache-Control"); got != "no-cache" {
		t.Errorf("a file without its tag is kept: %q", got)
	}
	tag := regexp.MustCompile(`/static/style\.css\?([0-9a-f]+)`).FindStringSubmatch(s.get("/").body)
	if len(tag) == 0 || !strings.Contains(s.get(tag[0]).header.Get("Cache-Control"), "immutable") {
		t.Errorf("a file with its tag %q is not kept", tag)
	}
}
