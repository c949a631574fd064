package cli

import (
	"bufio"
	"errors"
	"io"
	"strings"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/store"
)

// asked are the names that --ask goes through, kind by kind: what tells most,
// in the order in which a rider comes across it.
var asked = map[logbook.Kind][]string{
	logbook.KindCharge:  {"at", "charged", "full", "hold", "end_rest_v", "note"},
	logbook.KindRide:    {"at", "end", "distance", "discharged", "ambient", "tyre", "stop", "note"},
	logbook.KindCheck:   {"at", "resistance", "soc", "pack_temperature", "spread", "note"},
	logbook.KindService: {"kind", "at", "passed", "note"},
	logbook.KindSetup:   {"at", "limit", "tyre", "ref_tyre", "mass", "note"},
}

// dialogue asks for the fields of a record of kind k that words do not give,
// and again where an answer cannot be taken. A blank answer leaves a field out.
func (a *app) dialogue(k logbook.Kind, words []typed.Word) ([]typed.Word, error) {
	if !a.streams.canAsk() {
		return nil, wrong("--ask needs a terminal: give the fields as name=value")
	}
	var who typed.Rider
	err := a.read(func(s *store.Store) error {
		var err error
		who, err = a.rider(s)
		return err
	})
	if err != nil {
		return nil, err
	}
	scratch := logbook.New(k) // to find faults in answers at once
	if _, err := typed.Apply(scratch, words, who); err != nil {
		return nil, asWrong(err)
	}
	for _, text := range asked[k] {
		n, err := typed.Find(k, text)
		if err != nil || given(scratch, n) {
			continue
		}
		answer, err := a.answer(scratch, n, who)
		if errors.Is(err, io.EOF) {
			return nil, wrong("the answers ended early: nothing was kept")
		}
		if err != nil {
			return nil, err
		}
		if answer != "" {
			words = append(words, typed.Word{Name: n.Text, Text: answer})
		}
	}
	return words, nil
}

func given(r logbook.Record, n typed.Name) bool {
	for _, f := range n.Fields {
		if f.Present(r) {
			return true
		}
	}
	return false
}

// answer asks for one name until the answer can be taken.
func (a *app) answer(r logbook.Record, n typed.Name, who typed.Rider) (string, error) {
	for {
		text, err := a.line(promptFor(n))
		if err != nil || text == "" {
			return "", err
		}
		_, err = typed.Apply(r, []typed.Word{{Name: n.Text, Text: text}}, who)
		if err == nil {
			return text, nil
		}
		if _, err := io.WriteString(a.streams.Err, wrap("  ", oneLine(err.Error()), mostColumns)); err != nil {
			return "", err
		}
	}
}

// promptFor names what is asked for and what would be accepted.
func promptFor(n typed.Name) string {
	docs := make([]string, len(n.Fields))
	for i, f := range n.Fields {
		docs[i] = fieldDoc(f)
	}
	return strings.TrimSuffix(wrap("", prose.Spaced(n.Text)+" ("+strings.Join(docs, "; or ")+"):", mostColumns), "\n")
}

// line puts a prompt on standard error and reads one line of what is typed.
func (a *app) line(prompt string) (string, error) {
	if _, err := io.WriteString(a.streams.Err, prompt+" "); err != nil {
		return "", err
	}
	if a.answers == nil {
		a.answers = bufio.NewReader(io.LimitReader(a.streams.In, 1<<16))
	}
	line, err := a.answers.ReadString('\n')
	if err == io.EOF && line != "" {
		err = nil
	}
	return strings.TrimSpace(line), err
}
