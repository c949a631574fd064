package web

import (
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"slices"
	"strings"
)

// quietLog swallows what net/http says of clients that hang up.
var quietLog = log.New(io.Discard, "", 0)

// policy is the Content-Security-Policy (W3C CSP level 3) of every answer: all
// from this server, nothing inline, no frames.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; manifest-src 'self'; " +
	"worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// headers are set on every answer, whatever becomes of the request.
var headers = map[string]string{
	"Content-Security-Policy":      policy,
	"X-Content-Type-Options":       "nosniff",
	"X-Frame-Options":              "DENY",
	"Referrer-Policy":              "same-origin", // with no-referrer browsers send "Origin: null" with a form
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
	"Permissions-Policy":           "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}

// Handler returns the whole page behind its guard.
func (s *Server) Handler() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for name, value := range headers {
			w.Header().Set(name, value)
		}
		defer func() {
			if p := recover(); p != nil {
				s.Fault(fmt.Errorf("panic: %v\n%s", p, debug.Stack()))
				s.refuse(w, r, problemInside)
			}
		}()
		if p := s.check(r); p != nil {
			s.refuse(w, r, p)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody(r))
		s.mux.ServeHTTP(w, r)
	})
}

// check returns why a request is refused before anything is done for it, nil
// where it is not.
func (s *Server) check(r *http.Request) *problem {
	switch {
	case !s.knowsHost(r):
		return problemHost
	case !s.limits.allow(clientOf(r), costOf(r)):
		return problemRate
	case !safe(r.Method) && !sameOrigin(r, s.TLS != nil):
		return problemOrigin
	case safe(r.Method) && foreignPart(r):
		return problemOrigin
	case s.Pair && !open(r) && !s.sessions.knows(r):
		return problemUnpaired
	}
	return nil
}

func safe(method string) bool { return method == http.MethodGet || method == http.MethodHead }

// knowsHost reports whether the Host header names this server. A page of
// another site whose name was made to lead here (DNS rebinding) sends its own
// name, and gets nothing.
func (s *Server) knowsHost(r *http.Request) bool {
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.TrimSuffix(strings.ToLower(strings.Trim(host, "[]")), ".")
	local := localIP(r)
	if ip, err := netip.ParseAddr(host); err == nil {
		return ip.Unmap() == local || ip.IsLoopback() && local.IsLoopback()
	}
	if host == "localhost" {
		return local.IsLoopback()
	}
	return slices.Contains(s.Names, host)
}

// localIP is the address at which the request arrived.
func localIP(r *http.Request) netip.Addr {
	if a, ok := r.Context().Value(http.LocalAddrContextKey).(*net.TCPAddr); ok {
		return a.AddrPort().Addr().Unmap().WithZone("")
	}
	return netip.Addr{}
}

// sameOrigin reports whether a request that changes something was sent by a
// page of this server. Every browser says so in Origin (RFC 6454, 7); a request
// that says nothing is refused.
func sameOrigin(r *http.Request, tls bool) bool {
	scheme := "http://"
	if tls {
		scheme = "https://"
	}
	site := r.Header.Get("Sec-Fetch-Site")
	return strings.EqualFold(r.Header.Get("Origin"), scheme+r.Host) && (site == "" || site == "same-origin")
}

// foreignPart reports whether another site asks for a part of this one, as a
// picture or a script, rather than following a link to it (W3C Fetch Metadata).
func foreignPart(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "cross-site", "same-site":
		return r.Header.Get("Sec-Fetch-Mode") != "navigate" || r.Header.Get("Sec-Fetch-Dest") != "document"
	}
	return false
}

// open reports whether a request is answered without being paired: what is
// needed to pair, and nothing that tells of the log.
func open(r *http.Request) bool {
	path := r.URL.Path
	if !safe(r.Method) {
		return path == pairPost
	}
	return strings.HasPrefix(path, pairPath) || strings.HasPrefix(path, staticPath) || path == workerPath || path == manifestPath || strings.HasPrefix(path, feedPath)
}

// The most bytes of a body, and of the file of an import.
const (
	mostForm   = 64 << 10
	mostImport = 64 << 20
)

func mostBody(r *http.Request) int64 {
	if r.URL.Path == importPath {
		return mostImport
	}
	return mostForm
}
