package web

import (
	"bytes"
	"io"

	"packwane/health/logbook"
	"packwane/store"
)

var _ = addPage(page{pattern: "GET /export", title: "Export", menu: menuLog, about: "the whole log as a file: a backup, or to go on with elsewhere", serve: (*visit).exportPage})
var _ = addPage(page{pattern: "GET /export/file", serve: (*visit).exportFile})

func (v *visit) exportPage() (reply, error) {
	d := document{Title: "Export", Lead: "The log is yours: this is all of it, in the form that Import takes.", Up: link{"/more", "More"}}
	d.Blocks = []block{words{Links: []link{
		{"/export/file", "Every revision, JSON Lines: a backup"}, {"/export/file?as=now", "As it is now, JSON Lines"}, {"/export/file?as=csv", "As it is now, CSV"},
	}}}
	return documentOf("/more", d), nil
}

// recordWriter writes records in one of the forms of files.
type recordWriter interface {
	Write(logbook.Record) error
	Close() error
}

func (v *visit) exportFile() (reply, error) {
	var b bytes.Buffer
	as := v.FormValue("as")
	var w recordWriter = logbook.NewJSONWriter(&b)
	out := file{kind: "application/x-ndjson", name: "packwane-log.jsonl"}
	if as == "csv" {
		w, out.kind, out.name = logbook.NewCSVWriter(io.Writer(&b)), "text/csv; charset=utf-8", "packwane-log.csv"
	}
	err := v.read(func(s *store.Store) error {
		for r, err := range s.All(as == "") {
			if err != nil {
				return err
			}
			if err := w.Write(r); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		err = w.Close()
	}
	out.body = b.Bytes()
	return out, err
}
