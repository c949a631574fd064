package web

import (
	"html/template"
	"slices"

	"packwane/cmd/packwane/internal/typed"
)

// block is a part of a page that any page may use; Is names its template in
// blocks.html.
type block interface{ Is() string }

// document is a page made of blocks alone, under the template "document".
type document struct {
	Title    string
	Lead     string    // a line below the title
	Up       link      // where it belongs to
	Packs    []choice  // others that it can be asked of
	Grave    []dueLine // what speaks against riding on
	Cautions []string
	Blocks   []block
}

type link struct{ Path, Text string }

// figureGroup is figures under a heading.
type figureGroup struct {
	Title string
	Rows  []*figure
}

// bigs are the few figures that a page is opened for.
type bigs struct{ Rows []*figure }

// list is lines to tick, each with room to write where Blank is set.
type list struct {
	Title string
	Lines []typed.Line
	Blank bool
}

// cautionBlock is one caution.
type cautionBlock struct{ Text string }

// tableBlock is a table. The first cell of each row names it.
type tableBlock struct {
	Caption string
	Quiet   bool // a heading above says the same
	Wide    bool // its cells are not broken; a narrow screen scrolls it
	Heads   []string
	Rows    []row
	Note    string
}

// row is one row of a table; Mark is a word for what is special about it.
type row struct {
	Cells []string
	Path  string // the page that its first cell leads to
	Mark  string
}

// pictureBlock is a picture with its title as a heading.
type pictureBlock struct {
	Title string
	SVG   template.HTML
}

// words are paragraphs.
type words struct {
	Title string
	Text  []string
	Links []link
}

// notes are remarks at the end; links are those that lead on to a page.
type notes struct {
	Title string // "Notes" where empty
	Text  []string
	Links []link
}

func (figureGroup) Is() string  { return "figures" }
func (bigs) Is() string         { return "bigs" }
func (list) Is() string         { return "list" }
func (cautionBlock) Is() string { return "caution" }
func (tableBlock) Is() string   { return "table" }
func (pictureBlock) Is() string { return "picture" }
func (words) Is() string        { return "words" }
func (notes) Is() string        { return "notes" }
func (asking) Is() string       { return "asking" }
func (sending) Is() string      { return "sending" }

// asking is a form that asks a page again with other values, by its address.
type asking struct {
	Path   string
	Hidden []pair
	Picks  picks // several of some; none where it has no title
	Inputs []*input
	More   []inputGroup
	Tick   tick // a yes or no; none where it has no name
	Button string
}

// sending is a form that does something with what the page shows, by one of its
// buttons.
type sending struct {
	Path    string
	Hidden  []pair
	Tick    tick
	Buttons []pressing
}

// pressing is a button and what it sends; nothing where it has no name.
type pressing struct{ Name, Value, Text string }

type picks struct {
	Title, Name, Error string
	Choices            []choice
}

type tick struct {
	Name, Text string
	On         bool
}

type pair struct{ Name, Value string }

// documentOf is the reply that shows a document. Its cautions stand before the
// form at its end, else last.
func documentOf(tab string, d document) view {
	at := len(d.Blocks)
	if at > 0 && d.Blocks[at-1].Is() == "asking" {
		at--
	}
	for _, text := range slices.Backward(d.Cautions) {
		d.Blocks = slices.Insert(d.Blocks, at, block(cautionBlock{text}))
	}
	return view{title: d.Title, tab: tab, layout: "document", data: d}
}
