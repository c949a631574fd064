package web

import (
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"
)

// limiter is a token bucket for each client: every request takes some tokens,
// and they grow back with time.
type limiter struct {
	clock   func() time.Time
	mu      sync.Mutex
	buckets map[netip.Addr]*bucket
}

type bucket struct {
	left float64
	seen time.Time
}

// A client may do so much at once, and so much a second for ever after. A page
// costs 1, a file that stays the same a tenth, a write 4, a file 10, a try to pair 25.
const (
	burst       = 200.
	perSecond   = 20.
	mostClients = 4096
)

func newLimiter(clock func() time.Time) *limiter {
	return &limiter{clock: clock, buckets: map[netip.Addr]*bucket{}}
}

// allow takes cost from the client's bucket; false where too little is left.
func (l *limiter) allow(client netip.Addr, cost float64) bool {
	now := l.clock()
	l.mu.Lock()
	defer l.mu.Unlock()
	b := l.buckets[client]
	if b == nil {
		if len(l.buckets) >= mostClients {
			l.forget(now)
		}
		b = &bucket{left: burst, seen: now}
		l.buckets[client] = b
	}
	b.left = min(burst, b.left+perSecond*max(0, now.Sub(b.seen).Seconds()))
	b.seen = now
	if b.left < cost {
		return false
	}
	b.left -= cost
	return true
}

// forget drops clients whose buckets are full again; all, where none is.
func (l *limiter) forget(now time.Time) {
	for c, b := range l.buckets {
		if b.left+perSecond*now.Sub(b.seen).Seconds() >= burst {
			delete(l.buckets, c)
		}
	}
	if len(l.buckets) >= mostClients {
		clear(l.buckets)
	}
}

// clientOf is the address that a request comes from; of IPv6 the network, since
// one machine has many addresses there.
func clientOf(r *http.Request) netip.Addr {
	a, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	ip := a.Addr().Unmap().WithZone("")
	if ip.Is6() {
		if p, err := ip.Prefix(64); err == nil {
			return p.Addr()
		}
	}
	return ip
}

func costOf(r *http.Request) float64 {
	switch {
	case strings.HasPrefix(r.URL.Path, staticPath):
		return 0.1
	case safe(r.Method):
		return 1
	case r.URL.Path == pairPost:
		return 25
	case r.URL.Path == importPath:
		return 10
	}
	return 4
}
