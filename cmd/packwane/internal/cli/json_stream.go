package cli

import (
	"bytes"
	"encoding/json"
	"io"
	"reflect"
	"strings"
)

// streamJSON writes v as printJSON would, where fields of v may be sequences
// (iter.Seq2 of a value and an error): they become lists whose elements pass one
// by one. Standard output sees the document once it is whole.
func (a *app) streamJSON(v any) error {
	out := &spill{}
	defer out.close()
	s := &jsonStream{w: out}
	if err := s.value(reflect.ValueOf(v), ""); err != nil {
		return err
	}
	s.text("\n")
	if s.err != nil {
		return s.err
	}
	return out.copyTo(a.streams.Out)
}

// jsonStream writes a document in parts. The first error of w is kept.
type jsonStream struct {
	w   io.Writer
	err error
	b   bytes.Buffer
}

func (s *jsonStream) text(t string) {
	if s.err == nil {
		_, s.err = io.WriteString(s.w, t)
	}
}

// value writes v, whose lines after the first are indented by indent.
func (s *jsonStream) value(v reflect.Value, indent string) error {
	switch {
	case isSequence(v.Type()):
		return s.list(v, indent)
	case holdsSequence(v.Type()):
		s.text("{")
		if err := s.fields(v, indent+"  ", "\n"); err != nil {
			return err
		}
		s.text("\n" + indent + "}")
		return nil
	}
	s.b.Reset()
	e := json.NewEncoder(&s.b)
	e.SetEscapeHTML(false)
	e.SetIndent(indent, "  ")
	if err := e.Encode(v.Interface()); err != nil {
		return err
	}
	if s.err == nil {
		_, s.err = s.w.Write(bytes.TrimSuffix(s.b.Bytes(), []byte("\n")))
	}
	return nil
}

// fields writes the fields of a struct, those of what is embedded among them.
// What stands before the first is given.
func (s *jsonStream) fields(v reflect.Value, indent, before string) error {
	for i := range v.NumField() {
		f := v.Type().Field(i)
		if f.Anonymous {
			if err := s.fields(v.Field(i), indent, before); err != nil {
				return err
			}
			before = ",\n"
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		s.text(before + indent + `"` + name + `": `)
		if err := s.value(v.Field(i), indent); err != nil {
			return err
		}
		before = ",\n"
	}
	return nil
}

func (s *jsonStream) list(v reflect.Value, indent string) error {
	before := "[\n"
	for x, fault := range v.Seq2() {
		if !fault.IsNil() {
			return fault.Interface().(error)
		}
		s.text(before + indent + "  ")
		if err := s.value(x, indent+"  "); err != nil {
			return err
		}
		before = ",\n"
	}
	if before == "[\n" {
		s.text("[]")
	} else {
		s.text("\n" + indent + "]")
	}
	return nil
}

func isSequence(t reflect.Type) bool { return t.Kind() == reflect.Func && t.CanSeq2() }

// holdsSequence reports whether a struct has a sequence somewhere.
func holdsSequence(t reflect.Type) bool {
	if t.Kind() != reflect.Struct {
		return false
	}
	for i := range t.NumField() {
		if f := t.Field(i).Type; isSequence(f) || holdsSequence(f) {
			return true
		}
	}
	return false
}
