package trace

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// InputError says what in a time series cannot be used, where, and what would
// be accepted. Its text is one line:
//
//	row 17, column "Current / A": "abc": want a number
type InputError struct {
	Row    int64  // line of the file, counted from 1; 0 where it is no single line
	Column string // header of the column; "" where it is no single column
	Value  string // what stood there; "" where nothing can be shown
	Want   string // what is wrong, or what would be accepted
}

func (e *InputError) Error() string {
	var b strings.Builder
	if e.Row > 0 {
		fmt.Fprintf(&b, "row %d", e.Row)
	}
	if e.Column != "" {
		if b.Len() > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "column %q", e.Column)
	}
	if e.Value != "" {
		if b.Len() > 0 {
			b.WriteString(": ")
		}
		b.WriteString(strconv.Quote(clip(e.Value)))
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	return b.String() + e.Want
}

// MapError says what in a map cannot be used, and what would be accepted.
type MapError struct{ text string }

func (e *MapError) Error() string { return e.text }

func mapErrorf(format string, args ...any) error { return &MapError{fmt.Sprintf(format, args...)} }

// Errors that name no place in the file.
var (
	// ErrEmpty is returned for an input without a row of data.
	ErrEmpty = errors.New("the file holds no row of data: want a table with time, voltage and current")
	// ErrWindow is returned for a zstd file that needs more memory than maxZstdWindow.
	ErrWindow = errors.New("the zstd file needs a window of more than 16 MiB to unpack: want one packed without --long or --ultra")
	// ErrSign is returned where nothing tells whether positive current charges.
	ErrSign = errors.New("cannot tell whether positive current charges or discharges: the voltage does not answer to it; want sign=+ (positive charges) or sign=- in the map")
)

// clip shortens a value that is quoted in an error.
func clip(s string) string {
	const most = 40
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}
