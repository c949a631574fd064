package web

import (
	"context"
	"net/http"

	"packwane/cmd/packwane/internal/typed"
)

// wake asks for the answers of every pack to be worked out ahead of the next
// page; it never waits.
func (s *Server) wake() {
	select {
	case s.woken <- struct{}{}:
	default: // it is awake
	}
}

// warm works the answers out whenever it is woken, one pack after the other,
// until ctx ends.
func (s *Server) warm(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.woken:
			s.ahead(ctx)
		}
	}
}

func (s *Server) ahead(ctx context.Context) {
	defer func() {
		if p := recover(); p != nil {
			s.Fault(problemInside) // the page that needs it says what is wrong
		}
	}()
	now := s.Clock()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, "/", nil)
	if err != nil {
		return
	}
	v := &visit{Request: r, s: s, now: now, who: typed.Rider{Now: now}}
	l, err := v.load(allPacks)
	if err != nil {
		return
	}
	for _, p := range l.packs {
		a, err := v.answers(l, p.ID)
		if err != nil || ctx.Err() != nil {
			return
		}
		for _, work := range []func(){asked(a.health), asked(a.outlook), asked(a.due), asked(a.course), asked(a.consumption), asked(a.losses)} {
			if work(); ctx.Err() != nil {
				return
			}
		}
	}
}
