package web

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"packwane/health/prose"
	"packwane/store"
)

// reply is what a page answers with.
type reply interface {
	send(*visit, http.ResponseWriter)
}

// redirect leads on to another page of this server, after something was done.
type redirect string

func (to redirect) send(v *visit, w http.ResponseWriter) {
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Location", string(to))
	w.WriteHeader(http.StatusSeeOther)
}

// file is an answer that is no page.
type file struct {
	kind   string // its media type
	body   []byte
	status int    // 200 where 0
	name   string // to save it under; "" where it is shown
}

func (f file) send(v *visit, w http.ResponseWriter) {
	w.Header().Set("Cache-Control", "no-store")
	if f.name != "" {
		w.Header().Set("Content-Disposition", `attachment; filename="`+f.name+`"`)
	}
	if f.status == 0 {
		f.status = http.StatusOK
	}
	write(w, v.Request, f.status, f.kind, f.body)
}

// asJSON is an answer for the page's own script.
func asJSON(status int, doc any) reply {
	b, err := json.Marshal(doc)
	if err != nil {
		panic(err) // of plain structs of text
	}
	return file{kind: "application/json", body: b, status: status}
}

// leastPacked is the size from which packing pays.
const leastPacked = 1 << 10

// write sends a body that is whole, compressed where the browser takes that.
// Pages hold no secret, so that their packed length gives none away.
func write(w http.ResponseWriter, r *http.Request, status int, kind string, body []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Add("Vary", "Accept-Encoding")
	if len(body) >= leastPacked && takesGzip(r) {
		body = packed(body, gzip.DefaultCompression)
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	w.WriteHeader(status)
	w.Write(body) // a browser that went away is none of our business
}

func packed(body []byte, level int) []byte {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, level)
	if err == nil {
		_, err = z.Write(body)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		panic(err) // into memory, at a level that exists
	}
	return b.Bytes()
}

func takesGzip(r *http.Request) bool {
	for part := range strings.SplitSeq(r.Header.Get("Accept-Encoding"), ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.EqualFold(strings.TrimSpace(name), "gzip") {
			return strings.ReplaceAll(q, " ", "") != "q=0"
		}
	}
	return false
}

// problem is an error with words for whoever reads the page.
type problem struct {
	status      int
	title, text string
}

func (p *problem) Error() string { return p.text }

// What a request is refused for.
var (
	problemHost     = &problem{http.StatusMisdirectedRequest, "Unknown address", "This server is not called that. Open it under the address that it shows in its terminal."}
	problemOrigin   = &problem{http.StatusForbidden, "Not from this page", "The request did not come from a page of this server, so nothing was done. Open the page anew and try again."}
	problemRate     = &problem{http.StatusTooManyRequests, "Too fast", "That was more than this server answers at a time. Wait a few seconds, then try again."}
	problemUnpaired = &problem{http.StatusUnauthorized, "Not paired", "This browser is not paired with packwane yet. Open the one-time link that the terminal shows on the machine where packwane runs."}
	problemLink     = &problem{http.StatusForbidden, "The link is spent", "A pairing link works once, for half an hour. The terminal shows a new one: start packwane again, or ask a paired browser for one."}
	problemInside   = &problem{http.StatusInternalServerError, "Something went wrong", "The page could not be made, and nothing was changed by it. The terminal in which packwane runs says more."}
	problemNowhere  = &problem{http.StatusNotFound, "No such page", "There is no page at this address. The packs are a good place to go on from."}
	problemLarge    = &problem{http.StatusRequestEntityTooLarge, "Too large", "That is more than this page takes: 64 MiB for a file, 64 kB for a form. Larger files go in with `packwane import`, `trace` or `track`."}
	problemLocked   = &problem{http.StatusServiceUnavailable, "The log is in use", "Another program holds the log just now. Nothing was changed. Try again in a moment."}
)

// wrong is a problem that lies in what was asked for.
func wrong(text string) *problem {
	return &problem{http.StatusBadRequest, "That does not work", text}
}

// problemOf finds the words for an error. What lies in the store or the disk
// is told to the terminal and not to the browser.
func (s *Server) problemOf(err error) *problem {
	var p *problem
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &p):
		return p
	case errors.As(err, &large):
		return problemLarge
	case errors.Is(err, store.ErrLocked):
		return problemLocked
	case errors.Is(err, store.ErrConflict):
		return &problem{http.StatusConflict, "It has changed meanwhile", prose.Sentence(err.Error())}
	case errors.Is(err, store.ErrNotFound):
		return &problem{http.StatusNotFound, "Not in the log", prose.Sentence(err.Error())}
	case errors.Is(err, store.ErrNothing), s.Desk.Wrong(err):
		return wrong(prose.Sentence(err.Error()))
	}
	s.Fault(err)
	return problemInside
}

// refuse answers with a problem.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, p *problem) {
	if p == problemRate {
		w.Header().Set("Retry-After", "5")
	}
	v := &visit{Request: r, s: s, now: s.Clock()}
	switch {
	case p == problemHost:
		file{kind: textKind, body: []byte(p.text + "\n"), status: p.status}.send(v, w)
	case r.URL.Path == waitPath:
		asJSON(p.status, waited{State: "refused", Text: p.text}).send(v, w)
	default:
		v.problemView(p).send(v, w)
	}
}

const textKind = "text/plain; charset=utf-8"
