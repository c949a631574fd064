package web_test

import (
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"

	"packwane/cmd/packwane/internal/cli"
	"packwane/cmd/packwane/internal/web"
)

// desk is the desk of the site's store.
func (s *site) desk() web.Desk { return cli.DeskFor(s.store, s.clock) }

// at makes a request as if it had arrived at an address of this machine.
func at(r *http.Request, ip string) *http.Request {
	addr := &net.TCPAddr{IP: net.ParseIP(ip), Port: 8737}
	return r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, addr))
}

// serveOne hands one form to a server without a listener.
func serveOne(s *web.Server, method, path string, form url.Values, origin string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
	r.Host = strings.TrimPrefix(strings.TrimPrefix(origin, "https://"), "http://")
	r.Header.Set("Origin", origin)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	rec := httptest.NewRecorder()
	s.Handler().ServeHTTP(rec, at(r, "127.0.0.1"))
	return rec
}

// serveFrom gets a page by an address of the network.
func serveFrom(s *web.Server, ip, path string) *httptest.ResponseRecorder {
	r := httptest.NewRequest("GET", path, nil)
	r.Host = ip + ":8737"
	rec := httptest.NewRecorder()
	s.Handler().ServeHTTP(rec, at(r, ip))
	return rec
}
