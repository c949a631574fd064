package web

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"net/http"
	"slices"
	"sync"
	"time"
)

// sessions are the browsers that were paired. They live in memory: a server
// that is started anew is paired anew.
type sessions struct {
	clock func() time.Time
	mu    sync.Mutex
	link  [sha256.Size]byte // of the token of the one pairing link that holds
	until time.Time
	all   []session
}

type session struct {
	hash  [sha256.Size]byte
	until time.Time
}

const (
	linkTime     = 30 * time.Minute
	sessionTime  = 90 * 24 * time.Hour
	mostSessions = 32 // the oldest goes first
	pairPath     = "/pair/"
	pairPost     = "/pair/now"
	cookieName   = "packwane"
)

func newSessions(clock func() time.Time) *sessions { return &sessions{clock: clock} }

// newLink makes the token of a new pairing link; the one before is void. The
// token has 128 bits of chance or more (crypto/rand.Text).
func (s *sessions) newLink() string {
	token := rand.Text()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.link, s.until = sha256.Sum256([]byte(token)), s.clock().Add(linkTime)
	return token
}

// pair takes the token of a link, once, and returns the text of a new session's
// cookie; "" where the token is not the one.
func (s *sessions) pair(token string) string {
	sum := sha256.Sum256([]byte(token))
	now := s.clock()
	s.mu.Lock()
	defer s.mu.Unlock()
	if subtle.ConstantTimeCompare(sum[:], s.link[:]) != 1 || !now.Before(s.until) {
		return ""
	}
	s.until = time.Time{}
	text := rand.Text()
	s.all = append(s.all, session{sha256.Sum256([]byte(text)), now.Add(sessionTime)})
	if len(s.all) > mostSessions {
		s.all = slices.Delete(s.all, 0, 1)
	}
	return text
}

// knows reports whether a request comes from a paired browser.
func (s *sessions) knows(r *http.Request) bool {
	c, err := r.Cookie(cookieName)
	if err != nil {
		return false
	}
	sum := sha256.Sum256([]byte(c.Value))
	now := s.clock()
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.ContainsFunc(s.all, func(x session) bool { return x.hash == sum && now.Before(x.until) })
}

// end forgets the session of a request.
func (s *sessions) end(r *http.Request) {
	c, err := r.Cookie(cookieName)
	if err != nil {
		return
	}
	sum := sha256.Sum256([]byte(c.Value))
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all = slices.DeleteFunc(s.all, func(x session) bool { return x.hash == sum })
}

// cookie is the session's cookie: no script sees it, no other site sends it.
func (s *Server) cookie(text string) *http.Cookie {
	return &http.Cookie{
		Name: cookieName, Value: text, Path: "/", HttpOnly: true, Secure: s.TLS != nil, SameSite: http.SameSiteStrictMode,
		MaxAge: int(sessionTime / time.Second),
	}
}
