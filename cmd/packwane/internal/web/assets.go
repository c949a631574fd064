package web

import (
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"
)

//go:embed assets/*
var assetFiles embed.FS

const (
	staticPath   = "/static/"
	workerPath   = "/worker.js"
	manifestPath = "/manifest.webmanifest"
)

// assets are the files that pages need, in memory, by name.
type assets struct {
	files   map[string]*asset
	version string // of all of them together
	layouts map[string]*template.Template
}

type asset struct {
	kind         string
	body, packed []byte
	tag          string
}

var assetKinds = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml", ".webmanifest": "application/manifest+json",
}

func loadAssets() *assets {
	a := &assets{files: map[string]*asset{}}
	names, err := assetFiles.ReadDir("assets")
	if err != nil {
		panic(err) // they are embedded
	}
	all := sha256.New()
	for _, n := range names {
		body, err := assetFiles.ReadFile("assets/" + n.Name())
		if err != nil {
			panic(err)
		}
		if n.Name() == "style.css" {
			body = append(body, chartStyle()...)
		}
		all.Write(body)
		a.add(n.Name(), body)
	}
	a.layouts = parseLayouts(a.address)
	a.version = hex.EncodeToString(all.Sum(nil))[:12]
	a.add("worker.js", []byte(strings.NewReplacer("{{version}}", a.version, "{{files}}", a.list()).Replace(string(a.files["worker.js"].body))))
	return a
}

func (a *assets) add(name string, body []byte) {
	sum := sha256.Sum256(body)
	a.files[name] = &asset{kind: assetKinds[path.Ext(name)], body: body, packed: packed(body, gzip.BestCompression), tag: hex.EncodeToString(sum[:6])}
}

// address is where a file is to be had; it changes with the file, so that it
// can be kept for ever.
func (a *assets) address(name string) string {
	f := a.files[name]
	if f == nil {
		panic("web: no asset " + name)
	}
	return staticPath + name + "?" + f.tag
}

// list names, as a list in JavaScript, what the offline form needs.
func (a *assets) list() string {
	var out []string
	for _, name := range []string{"style.css", "page.js", "waiting.js", "icon.svg"} {
		out = append(out, strconv.Quote(a.address(name)))
	}
	slices.Sort(out)
	return "[" + strings.Join(out, ", ") + "]"
}

var _ = addPage(page{pattern: "GET " + staticPath + "{name}", serve: func(v *visit) (reply, error) { return v.asset(v.PathValue("name")) }})
var _ = addPage(page{pattern: "GET " + workerPath, serve: func(v *visit) (reply, error) { return v.asset("worker.js") }})
var _ = addPage(page{pattern: "GET " + manifestPath, serve: func(v *visit) (reply, error) { return v.asset("manifest.webmanifest") }})

// asset answers with a file by its name; the name is only ever looked up.
func (v *visit) asset(name string) (reply, error) {
	f := v.s.assets.files[name]
	if f == nil {
		return nil, problemNowhere
	}
	return f, nil
}

func (f *asset) send(v *visit, w http.ResponseWriter) {
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("ETag", `"`+f.tag+`"`)
	h.Add("Vary", "Accept-Encoding")
	h.Set("Cache-Control", "no-cache")
	if v.URL.RawQuery == f.tag {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if v.Header.Get("If-None-Match") == `"`+f.tag+`"` {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	body := f.body
	if takesGzip(v.Request) {
		body = f.packed
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	w.Write(body)
}
