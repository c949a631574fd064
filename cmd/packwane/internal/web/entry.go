package web

import (
	"errors"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
)

// entry is a record as a form sends it.
type entry struct {
	kind   logbook.Kind
	pack   string
	values map[string]string
}

// words are the words of the entry. What is said of a board alone is not said
// of a pack.
func (e entry) words() []typed.Word {
	words := wordsOf(e.kind, true, e.values)
	ofBoard := e.values["board"] != "" && e.kind != logbook.KindRide
	if e.pack != "" && !made(e.kind) && !ofBoard {
		words = append([]typed.Word{{Name: "pack", Text: e.pack}}, words...)
	}
	return words
}

// empty reports whether nothing is said but what it is of.
func (e entry) empty() bool {
	for name := range e.values {
		if name != "board" || made(e.kind) {
			return false
		}
	}
	return true
}

// formFault is what is wrong with a form.
type formFault struct {
	fields map[string]string
	other  string
}

// draft makes a draft of an entry; a fault is what the rider must put right.
func (v *visit) draft(e entry) (*Draft, *formFault, error) {
	if bad := faults(e.kind, wordsOf(e.kind, true, e.values), v.who); len(bad) > 0 {
		return nil, &formFault{fields: bad}, nil
	}
	if e.empty() {
		return nil, &formFault{other: "Nothing was filled in: fill in one field at least."}, nil
	}
	if made(e.kind) && e.values["id"] == "" {
		return nil, &formFault{fields: map[string]string{"id": "Give it a short name of your own, such as kite-a."}}, nil
	}
	d, err := v.s.Desk.Draft(e.kind, e.values["id"], e.words(), v.who)
	return v.orFault(e.kind, true, d, err)
}

// orFault makes of an error that lies in a form what the form shows.
func (v *visit) orFault(k logbook.Kind, fresh bool, d *Draft, err error) (*Draft, *formFault, error) {
	var field *logbook.FieldError
	switch {
	case err == nil && d.Held != "" && v.URL.Path != waitPath:
		return nil, &formFault{other: prose.Sentence(d.Held)}, nil
	case err == nil:
		return d, nil, nil
	case errors.As(err, &field):
		if f, ok := logbook.FieldNamed(k, field.Field); ok {
			return nil, &formFault{fields: map[string]string{nameFor(k, f, fresh): prose.Sentence(withoutField(k, field.Error()))}}, nil
		}
		fallthrough
	case v.s.Desk.Wrong(err):
		return nil, &formFault{other: prose.Sentence(err.Error())}, nil
	}
	return nil, nil, err
}
