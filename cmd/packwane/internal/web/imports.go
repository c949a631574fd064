package web

import (
	"errors"
	"io"
	"mime/multipart"
	"strings"
	"unicode"

	"packwane/health/logbook"
	"packwane/store"
)

const importPath = "/import"

var _ = addPage(page{pattern: "GET " + importPath, title: "Import", menu: menuLog, about: "a file of records, JSON Lines or CSV", serve: (*visit).importForm})
var _ = addPage(page{pattern: "POST " + importPath, serve: (*visit).importFile})

// importView is the form for a file, and what became of one.
type importView struct {
	Error string
	Name  string
	Done  bool
	Rows  []importRow
	Undo  *undoView
}

type importRow struct{ Word, What string }

func (v *visit) importForm() (reply, error) {
	return view{title: "Import", tab: "/more", layout: "import", data: importView{}}, nil
}

// importFile reads the file of a form as it arrives. It is never written under
// a name that came with it.
func (v *visit) importFile() (reply, error) {
	parts, err := v.MultipartReader()
	if err != nil {
		return nil, wrong("Want a file, sent by the form of this page.")
	}
	for {
		part, err := parts.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return v.importFault("Choose a file first.", ""), nil
		case err != nil:
			return nil, broken(err)
		case part.FormName() == "file" && part.FileName() != "":
			return v.importPart(part)
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

func (v *visit) importPart(part *multipart.Part) (reply, error) {
	name := fileLabel(part.FileName())
	file := &body{r: part}
	summary, err := v.s.Desk.Import(logbook.Read(file, name), "import "+name, v.now)
	if file.err != nil {
		return nil, broken(file.err)
	}
	if err != nil {
		if p := v.s.problemOf(err); p == problemInside || p == problemLocked {
			return nil, p
		}
		return v.importFault(strings.TrimSuffix(err.Error(), ".")+". Nothing was changed.", name), nil
	}
	v.s.wake()
	data := importView{Name: name, Done: true}
	for _, x := range []struct {
		word   string
		counts map[logbook.Kind]int
	}{{"added", summary.Added}, {"changed", summary.Changed}, {"unchanged", summary.Unchanged}} {
		if text := kindCounts(x.counts); text != "" {
			data.Rows = append(data.Rows, importRow{x.word, text})
		}
	}
	if changed(summary) {
		if data.Undo, err = v.undoable(); err != nil {
			return nil, err
		}
	}
	return view{title: "Imported", tab: "/more", layout: "import", data: data}, nil
}

func changed(s store.Summary) bool { return kindCounts(s.Added)+kindCounts(s.Changed) != "" }

func (v *visit) importFault(text, name string) reply {
	return view{title: "Import", tab: "/more", layout: "import", data: importView{Error: text, Name: name}, status: badForm}
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

// kindCounts says "1 board, 2 packs, 40 rides"; "" where all are 0.
func kindCounts(counts map[logbook.Kind]int) string {
	var parts []string
	for _, k := range logbook.Kinds {
		if n := counts[k]; n > 0 {
			parts = append(parts, plural(n, k.String()))
		}
	}
	return strings.Join(parts, ", ")
}
