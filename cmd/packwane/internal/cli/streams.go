package cli

import (
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// Streams is what the program is connected to.
type Streams struct {
	In          io.Reader
	Out, Err    io.Writer
	InTerminal  bool // a person types into In
	OutTerminal bool // a person reads Out
	ErrTerminal bool // a person reads Err
	Columns     int  // width of the terminal behind Out; 0 where there is none
	Getenv      func(string) string
}

// System returns the streams and the environment of the process.
func System() Streams {
	s := Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Getenv: os.Getenv}
	s.InTerminal = term.IsTerminal(int(os.Stdin.Fd()))
	s.ErrTerminal = term.IsTerminal(int(os.Stderr.Fd()))
	if s.OutTerminal = term.IsTerminal(int(os.Stdout.Fd())); s.OutTerminal {
		if w, _, err := term.GetSize(int(os.Stdout.Fd())); err == nil {
			s.Columns = w
		}
	}
	return s
}

// The widest and the narrowest that text is set.
const (
	mostColumns  = 80
	leastColumns = 40
)

// width returns the columns that text may fill.
func (s Streams) width() int {
	if s.Columns == 0 || s.Columns > mostColumns {
		return mostColumns
	}
	return max(s.Columns, leastColumns)
}

// colour reports whether standard output takes colour.
func (s Streams) colour() bool {
	return s.OutTerminal && s.Getenv("NO_COLOR") == "" && s.Getenv("TERM") != "dumb"
}

// canAsk reports whether a question would reach a person who can answer it.
func (s Streams) canAsk() bool { return s.InTerminal && s.ErrTerminal }

// ask puts a yes/no question on standard error. Only an answer that begins with
// y means yes; the end of the input means no.
func (a *app) ask(question string) (bool, error) {
	answer, err := a.line(strings.TrimSuffix(wrap("", question+" [y/N]", mostColumns), "\n"))
	if err != nil && err != io.EOF {
		return false, err
	}
	return strings.HasPrefix(strings.ToLower(answer), "y"), nil
}

// firstFault remembers the first error of writing to w. After it, nothing is
// written any more.
type firstFault struct {
	w   io.Writer
	err error
}

func (f *firstFault) Write(p []byte) (int, error) {
	if f.err != nil {
		return 0, f.err
	}
	n, err := f.w.Write(p)
	f.err = err
	return n, err
}
