package web

import (
	"bufio"
	"errors"
	"io"
	"mime/multipart"
	"strings"
	"unicode"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/trace"
	"packwane/health/units"
	"packwane/store"
)

const importPath = "/import"

var _ = addPage(page{pattern: "GET " + importPath, title: "Import", menu: menuLog, about: "records, a log of volts and amperes, or a GPS track", serve: (*visit).importForm})
var _ = addPage(page{pattern: "POST " + importPath, serve: (*visit).importFile})

// importView is the form for a file, and what became of one.
type importView struct {
	Error string
	Name  string
	Done  bool
	Rows  []importRow
	Undo  *undoView
	Packs []choice
	Map   string // of the columns, as typed
	Start string
}

type importRow struct{ Word, What string }

// importAsk is what the form says besides the file.
type importAsk struct{ pack, columns, start string }

func (v *visit) importForm() (reply, error) {
	q := v.URL.Query()
	return v.importPage(importView{}, importAsk{q.Get("pack"), q.Get("map"), q.Get("start")})
}

// importPage shows the form, with the packs that a file may be of.
func (v *visit) importPage(data importView, ask importAsk) (reply, error) {
	l, err := v.load(noPacks)
	if err != nil {
		return nil, err
	}
	if ask.pack == "" {
		ask.pack = l.last
	}
	data.Packs, data.Map, data.Start = packChoices(l, ask.pack, importPath), ask.columns, ask.start
	out := view{title: "Import", tab: "/more", layout: "import", data: data}
	if data.Done {
		out.title = "Imported"
	}
	if data.Error != "" {
		out.status = badForm
	}
	return out, nil
}

// importFile reads the file of a form as it arrives. It is never written under
// a name that came with it. What else the form says stands before the file.
func (v *visit) importFile() (reply, error) {
	parts, err := v.MultipartReader()
	if err != nil {
		return nil, wrong("Want a file, sent by the form of this page.")
	}
	var ask importAsk
	for {
		part, err := parts.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return v.importFault("Choose a file first.", "", ask)
		case err != nil:
			return nil, broken(err)
		case part.FormName() == "file" && part.FileName() != "":
			return v.importPart(part, ask)
		}
		const most = 4 << 10
		text, err := io.ReadAll(io.LimitReader(part, most))
		if err != nil {
			return nil, broken(err)
		}
		switch said := strings.TrimSpace(string(text)); part.FormName() {
		case "pack":
			ask.pack = said
		case "map":
			ask.columns = said
		case "start":
			ask.start = said
		}
	}
}

// broken tells a body that is too large from one that ends early.
func broken(err error) error {
	if strings.Contains(err.Error(), "too large") {
		return problemLarge
	}
	return wrong("The file did not arrive whole. Nothing was changed; try again.")
}

// importPart reads a file by what is in it.
func (v *visit) importPart(part *multipart.Part, ask importAsk) (reply, error) {
	file := &body{r: part}
	in := bufio.NewReaderSize(file, headOfFile)
	head, err := in.Peek(headOfFile)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, broken(err)
	}
	name := fileLabel(part.FileName())
	var out reply
	switch contentOf(head) {
	case holdsTrack:
		out, err = v.importTrack(in, name, ask)
	case holdsTrace:
		out, err = v.importTrace(in, name, ask)
	default:
		out, err = v.importRecords(in, name, ask)
	}
	if file.err != nil {
		return nil, broken(file.err)
	}
	var p *problem
	if err == nil || errors.As(err, &p) {
		return out, err
	}
	if p := v.s.problemOf(err); p == problemInside || p == problemLocked {
		return nil, p
	}
	return v.importFault(strings.TrimSuffix(err.Error(), ".")+". Nothing was changed.", name, ask)
}

func (v *visit) importRecords(in io.Reader, name string, ask importAsk) (reply, error) {
	summary, err := v.s.Desk.Import(logbook.Read(in, name), "import "+name, v.now)
	if err != nil {
		return nil, err
	}
	return v.imported(summary, name, ask)
}

// imported says what went into the log, and offers to take it back.
func (v *visit) imported(summary store.Summary, name string, ask importAsk) (reply, error) {
	v.s.wake()
	data := importView{Name: name, Done: true}
	for _, x := range []struct {
		word   string
		counts map[logbook.Kind]int
	}{{"added", summary.Added}, {"changed", summary.Changed}, {"unchanged", summary.Unchanged}} {
		if text := typed.Counts(x.counts); text != "" {
			data.Rows = append(data.Rows, importRow{x.word, text})
		}
	}
	if changed(summary) {
		var err error
		if data.Undo, err = v.undoable(); err != nil {
			return nil, err
		}
	}
	return v.importPage(data, importAsk{pack: ask.pack})
}

func changed(s store.Summary) bool { return typed.Counts(s.Added)+typed.Counts(s.Changed) != "" }

func (v *visit) importFault(text, name string, ask importAsk) (reply, error) {
	return v.importPage(importView{Error: text, Name: name}, ask)
}

// traceAsk makes of what the form says how a time series is to be read.
func (v *visit) traceAsk(name string, ask importAsk) (TraceAsk, error) {
	out := TraceAsk{Name: name, Pack: ask.pack, Closed: v.now}
	var err error
	if out.Map, err = trace.ParseMapping(ask.columns); err != nil {
		return out, wrong(prose.Sentence(err.Error()))
	}
	if ask.start != "" {
		if out.Start, err = units.ParseTime(ask.start, v.now); err != nil {
			return out, wrong("Time of the first row: " + err.Error())
		}
	}
	return out, nil
}

// body remembers that reading failed for another reason than its content.
type body struct {
	r   io.Reader
	err error
}

func (b *body) Read(p []byte) (int, error) {
	n, err := b.r.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		b.err = err
	}
	return n, err
}

// fileLabel makes the name that came with a file fit to be shown: its last
// part, letters, digits and plain signs, not long.
func fileLabel(name string) string {
	if i := strings.LastIndexAny(name, `/\`); i >= 0 {
		name = name[i+1:]
	}
	out := []rune{}
	for _, c := range name {
		if !unicode.IsLetter(c) && !unicode.IsDigit(c) && !strings.ContainsRune(" ._-()", c) {
			c = '_'
		}
		if out = append(out, c); len(out) == 60 {
			break
		}
	}
	if len(out) == 0 {
		return "the file"
	}
	return string(out)
}
