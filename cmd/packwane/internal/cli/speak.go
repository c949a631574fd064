// Package cli is the command line of packwane: one file a command, which
// parses its call, loads from the store, calls the package that knows the
// answer, and renders it.
//
// # How the program speaks
//
//   - The answer goes to standard output; everything else (progress, questions,
//     faults) goes to standard error. With --json standard output holds one
//     JSON document and nothing else.
//   - A fault is one line on standard error: "packwane: " and then what, where
//     (file and line, field, value) and what would be accepted or done next.
//     No stack trace, no usage text behind it.
//   - The exit status is 0 when it is done, 1 when the command failed though
//     the call was right (disk full, store locked), 2 when the call or its input
//     is wrong, and 3 when `due --exit-code` finds something overdue.
//   - A command that fails leaves the store and its output file as they were.
//   - A question is asked only where both standard input and standard error are
//     terminals; elsewhere the command refuses and names the flag that answers.
//     The answer that changes nothing is the default.
//   - Text fits 80 columns. A figure that is not known is "unknown" or "-" with
//     a footnote that says what is missing, never a 0.
//   - Colour only on a terminal that takes it, never under NO_COLOR or
//     --no-color, and never as the only carrier of a meaning.
//   - Lists are aligned columns on a terminal and tab-separated in a pipe.
//   - Control characters that stand in names and notes are never sent to the
//     terminal as they are.
package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
)

// The exit statuses.
const (
	statusDone    = 0
	statusFailed  = 1
	statusWrong   = 2
	statusOverdue = 3
)

// fault is an error that knows its exit status. A fault without words ends the
// program with its status and prints nothing.
type fault struct {
	status int
	err    error
}

func (f *fault) Error() string {
	if f.err == nil {
		return ""
	}
	return f.err.Error()
}

func (f *fault) Unwrap() error { return f.err }

// wrong says that the call or its input is at fault (exit status 2).
func wrong(format string, args ...any) error {
	return &fault{statusWrong, fmt.Errorf(format, args...)}
}

// failed says that the command could not be carried out (exit status 1).
func failed(format string, args ...any) error {
	return &fault{statusFailed, fmt.Errorf(format, args...)}
}

// asWrong marks err as a fault of the call or its input, unless it carries a
// status already. It returns nil for nil.
func asWrong(err error) error {
	var f *fault
	if err == nil || errors.As(err, &f) {
		return err
	}
	return &fault{statusWrong, err}
}

// plainPath takes the operation and the doubled file name out of an error of
// the file system, so that a sentence can name the file once.
func plainPath(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// oneLine folds s into a single line without control characters.
func oneLine(s string) string {
	return clean(strings.Join(strings.Fields(s), " "))
}
