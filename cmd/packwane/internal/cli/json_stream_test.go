package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"iter"
	"slices"
	"strconv"
	"testing"
)

// TestStreamedJSON: a document with sequences is laid out as one with lists,
// also where it is too long for memory.
func TestStreamedJSON(t *testing.T) {
	type item struct {
		Name  string   `json:"name"`
		Value *float64 `json:"value,omitempty"`
		Of    []int    `json:"of"`
	}
	type lists struct {
		Head string `json:"head"`
		Many []item `json:"many"`
		Deep struct {
			None []int             `json:"none"`
			Raw  []json.RawMessage `json:"raw"`
		} `json:"deep"`
	}
	type wholeLists struct {
		lists
		Tail map[string]int `json:"tail"`
		Last []item         `json:"last"`
	}
	type flowing struct {
		Head string                 `json:"head"`
		Many iter.Seq2[item, error] `json:"many"`
		Deep struct {
			None iter.Seq2[int, error]             `json:"none"`
			Raw  iter.Seq2[json.RawMessage, error] `json:"raw"`
		} `json:"deep"`
	}
	type wholeFlowing struct {
		flowing
		Tail map[string]int         `json:"tail"`
		Last iter.Seq2[item, error] `json:"last"`
	}
	for _, n := range []int{0, 1, 3, 20_000} {
		half := 0.5
		var a wholeLists
		a.Head, a.Tail = "<a & b>", map[string]int{"x": 1}
		a.Many, a.Deep.None, a.Deep.Raw, a.Last = []item{}, []int{}, []json.RawMessage{[]byte(`{"note":"<é>","list":[1,2]}`)}, []item{{Of: []int{}}}
		for k := range n {
			a.Many = append(a.Many, item{Name: "reed " + strconv.Itoa(k), Value: &half, Of: []int{k, k}})
		}
		var b wholeFlowing
		b.Head, b.Tail = a.Head, a.Tail
		b.Many, b.Deep.None, b.Deep.Raw, b.Last = passing(a.Many), passing(a.Deep.None), passing(a.Deep.Raw), passing(a.Last)
		want, got := &bytes.Buffer{}, &bytes.Buffer{}
		if err := (&app{streams: Streams{Out: want}}).printJSON(a); err != nil {
			t.Fatal(err)
		}
		if err := (&app{streams: Streams{Out: got}}).streamJSON(b); err != nil {
			t.Fatal(err)
		}
		if got.String() != want.String() {
			t.Errorf("%d elements: got\n%.900s\nwant\n%.900s", n, got, want)
		}
	}

	// What fails on the way prints nothing.
	fault, out := errors.New("the spill is gone"), &bytes.Buffer{}
	doc := flowing{Many: func(yield func(item, error) bool) { _ = yield(item{}, nil) && yield(item{}, fault) }}
	if err := (&app{streams: Streams{Out: out}}).streamJSON(doc); !errors.Is(err, fault) || out.Len() > 0 {
		t.Errorf("%v, and printed %q", err, out)
	}
}

func passing[T any](list []T) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for x := range slices.Values(list) {
			if !yield(x, nil) {
				return
			}
		}
	}
}
