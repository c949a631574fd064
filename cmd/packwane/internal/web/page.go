package web

import (
	"bytes"
	"embed"
	"html/template"
	"net/http"
	"net/url"
	"strings"
	"time"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/units"
)

// page is one address and who answers it.
type page struct {
	pattern string // as of http.ServeMux, such as "GET /due"
	title   string // as a link to it says
	menu    string // the part of the menu that lists it; "" for none
	about   string // a line below its name in the menu
	ofPack  bool   // it is about one pack, and linked from the pack's page
	serve   func(*visit) (reply, error)
}

// The parts of the menu, in their order.
const (
	menuAnswers = "Answers"
	menuLog     = "The log"
	menuOther   = "This page"
)

var pages = make([]page, 0, 64)

// addPage makes a page known. Pages call it as they are initialised.
func addPage(p page) bool {
	pages = append(pages, p)
	return true
}

// visit is one request on its way through a page.
type visit struct {
	*http.Request
	s   *Server
	now time.Time // the moment of the request, in the rider's zone
	who typed.Rider
}

// route hangs every page into the server.
func (s *Server) route() {
	for _, p := range pages {
		s.mux.HandleFunc(p.pattern, func(w http.ResponseWriter, r *http.Request) { s.answer(w, r, p.serve) })
	}
	s.mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) { s.refuse(w, r, problemNowhere) })
}

func (s *Server) answer(w http.ResponseWriter, r *http.Request, serve func(*visit) (reply, error)) {
	now := s.Clock()
	v := &visit{Request: r, s: s, now: now, who: typed.Rider{Now: now}}
	out, err := serve(v)
	if err != nil {
		s.refuse(w, r, s.problemOf(err))
		return
	}
	out.send(v, w)
}

// view is an answer that is a page.
type view struct {
	title  string
	tab    string // the address of the tab that it belongs to
	layout string // the template of its content
	data   any
	status int
	bare   bool // without tabs: nothing can be seen yet
}

// frame is what every page shows around its content.
type frame struct {
	Title   string
	Tabs    []tab
	Bare    bool
	Exposed bool // others on the network can read along
	Data    any
}

type tab struct {
	Path, Name, Mark string
	Here             bool
}

var tabs = []tab{{Path: "/", Name: "Packs"}, {Path: "/log", Name: "Log"}, {Path: "/due", Name: "Due"}, {Path: "/more", Name: "More"}}

func (p view) send(v *visit, w http.ResponseWriter) {
	f := frame{Title: p.title, Bare: p.bare, Data: p.data, Exposed: v.s.TLS == nil && !localIP(v.Request).IsLoopback()}
	for _, t := range tabs {
		t.Here = t.Path == p.tab
		f.Tabs = append(f.Tabs, t)
	}
	var b bytes.Buffer
	if err := v.s.assets.layouts[p.layout].Execute(&b, f); err != nil {
		v.s.Fault(err)
		http.Error(w, problemInside.text, problemInside.status)
		return
	}
	if p.status == 0 {
		p.status = http.StatusOK
	}
	w.Header().Set("Cache-Control", "no-store")
	write(w, v.Request, p.status, "text/html; charset=utf-8", b.Bytes())
}

func (v *visit) problemView(p *problem) view {
	return view{title: p.title, layout: "problem", status: p.status, data: p.text, bare: p == problemUnpaired || p == problemLink}
}

//go:embed templates/*.html
var templates embed.FS

// parseLayouts parses every template with the frame and the blocks, so that a
// mistake in one shows when the server starts.
func parseLayouts(asset func(string) string) map[string]*template.Template {
	base := template.New("frame.html").Funcs(template.FuncMap{"asset": asset, "address": address, "lines": lines})
	base = template.Must(base.ParseFS(templates, "templates/frame.html", "templates/blocks.html"))
	names, err := templates.ReadDir("templates")
	if err != nil {
		panic(err) // they are embedded
	}
	out := map[string]*template.Template{}
	for _, n := range names {
		name, _ := strings.CutSuffix(n.Name(), ".html")
		if name != "frame" && name != "blocks" {
			out[name] = template.Must(template.Must(base.Clone()).ParseFS(templates, "templates/"+n.Name()))
		}
	}
	return out
}

// address joins a path and pairs of a name and a value; empty values are left
// out.
func address(path string, pairs ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			q.Set(pairs[i], pairs[i+1])
		}
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// lines parts a text at its line breaks.
func lines(text string) []string { return strings.Split(text, "\n") }

// when says a time for the rider.
func (v *visit) when(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return units.FormatTime(t.In(v.now.Location()), v.now)
}
