package logbook

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"packwane/health/prose"
	"packwane/health/units"
)

// Type says what a field holds and so how it is written.
type Type uint8

// The field types.
const (
	TypeText    Type = iota // a JSON string
	TypeNumber              // a JSON number
	TypeTime                // RFC 3339 with an offset
	TypeDate                // YYYY-MM-DD
	TypeFlag                // true or false
	TypeNumbers             // a JSON array of numbers; in CSV parted by spaces
)

// Field describes one field of one record kind: the one place that knows its
// name, unit and range.
type Field struct {
	Name     string
	Doc      string // a phrase for help texts and forms
	Type     Type
	Unit     units.Unit // canonical unit of a number; units.None else
	Min, Max float64    // accepted range of a number, both ends included
	Above    bool       // Min itself is not accepted
	Whole    bool       // whole numbers only
	Required bool
	Long     bool     // free text: line breaks and tabs are accepted
	Enum     []string // accepted texts; nil where any will do
	// ref returns a pointer to the field inside a record of its kind: *string,
	// *Num, *time.Time, *Flag, *[]float64, or, in the Head, *int and *bool.
	ref func(Record) any
}

// FieldError says which field of a record is wrong and what would be accepted.
type FieldError struct {
	Field string // name, or "" where the record as a whole is meant
	Value string // as given, shortened; "" where it is missing
	Want  string // what would be accepted
}

// Error prints the field, its value and what would be accepted, on one line.
func (e *FieldError) Error() string {
	switch {
	case e.Field == "":
		return e.Want
	case e.Value == "":
		return e.Field + ": " + e.Want
	}
	return e.Field + " " + quoteShort(e.Value) + ": " + e.Want
}

// quoteShort quotes s as Go would, so that no control character reaches a
// terminal, and cuts it to some 40 characters.
func quoteShort(s string) string { return strconv.Quote(prose.Clip(s)) }

// Want says in words what the field accepts.
func (f Field) Want() string {
	switch f.Type {
	case TypeTime:
		return "want a time such as 2026-05-03T18:30:00+02:00 (RFC 3339 with an offset)"
	case TypeDate:
		return "want a date such as 2026-05-03 (YYYY-MM-DD)"
	case TypeFlag:
		return "want true or false"
	case TypeNumber:
		return "want " + f.rangeWords()
	case TypeNumbers:
		return "want a list, each " + f.rangeWords()
	}
	if f.Enum != nil {
		return "want one of " + strings.Join(f.Enum, ", ")
	}
	return "want text of at most " + strconv.Itoa(f.most()) + " bytes without control characters"
}

// most is the length in bytes to which the text of the field is held.
func (f *Field) most() int {
	if f.Long {
		return MaxText
	}
	return MaxID
}

func (f *Field) rangeWords() string {
	noun := "a number"
	if f.Whole {
		noun = "a whole number"
	}
	from := "from"
	if f.Above {
		from = "above"
	}
	return fmt.Sprintf("%s %s %s to %s", noun, from, FormatNumber(f.Min), FormatNumber(f.Max))
}

// MaxText is the longest text that a field accepts, in bytes. Ids and names
// are held to MaxID.
const (
	MaxText = 4096
	MaxID   = 128
)

func (f *Field) refuse(value string) error {
	return &FieldError{Field: f.Name, Value: value, Want: f.Want()}
}

// Present reports whether the field is given in r.
func (f Field) Present(r Record) bool {
	switch p := f.ref(r).(type) {
	case *string:
		return *p != ""
	case *Num:
		return p.OK
	case *time.Time:
		return !p.IsZero()
	case *Flag:
		return *p != Absent
	case *[]float64:
		return len(*p) > 0
	case *int:
		return *p > 1
	case *bool:
		return *p
	}
	return false
}

// Number returns the field's number in r; absent for other types.
func (f Field) Number(r Record) Num {
	if p, ok := f.ref(r).(*Num); ok {
		return *p
	}
	return Num{}
}

// Text writes the field of r as in a CSV cell: "" where it is absent.
func (f Field) Text(r Record) string {
	if !f.Present(r) {
		return ""
	}
	switch p := f.ref(r).(type) {
	case *string:
		return *p
	case *Num:
		return FormatNumber(p.V)
	case *time.Time:
		return f.timeText(*p)
	case *Flag:
		return strconv.FormatBool(*p == Yes)
	case *[]float64:
		return strings.Join(numberTexts(*p), " ")
	case *int:
		return strconv.Itoa(*p)
	}
	return "true" // *bool, present
}

func (f *Field) timeText(t time.Time) string {
	if f.Type == TypeDate {
		return t.Format(DateLayout)
	}
	return FormatTime(t)
}

func numberTexts(vs []float64) []string {
	out := make([]string, len(vs))
	for i, v := range vs {
		out[i] = FormatNumber(v)
	}
	return out
}

// SetText sets the field of r from the text of a CSV cell; "" makes it absent.
// The error is a *FieldError.
func (f Field) SetText(r Record, text string) error {
	if text == "" {
		f.clear(r)
		return nil
	}
	switch p := f.ref(r).(type) {
	case *string:
		return f.setString(p, text)
	case *time.Time:
		return f.setTime(p, text)
	case *Flag:
		v, err := parseBool(text)
		if err != nil {
			return f.refuse(text)
		}
		*p = FlagOf(v)
	case *bool:
		v, err := parseBool(text)
		if err != nil {
			return f.refuse(text)
		}
		*p = v
	case *Num:
		v, err := f.parseNumber(text)
		if err != nil {
			return err
		}
		*p = Some(v)
	case *int:
		v, err := f.parseNumber(text)
		if err != nil {
			return err
		}
		*p = int(v)
	case *[]float64:
		var list []float64
		for _, part := range strings.Fields(text) {
			v, err := f.parseNumber(part)
			if err != nil {
				return err
			}
			list = append(list, v)
		}
		*p = list
	}
	return nil
}

func (f *Field) clear(r Record) {
	switch p := f.ref(r).(type) {
	case *string:
		*p = ""
	case *Num:
		*p = Num{}
	case *time.Time:
		*p = time.Time{}
	case *Flag:
		*p = Absent
	case *[]float64:
		*p = nil
	case *int:
		*p = 1
	case *bool:
		*p = false
	}
}

func parseBool(text string) (bool, error) {
	switch {
	case strings.EqualFold(text, "true"): // spreadsheets write TRUE
		return true, nil
	case strings.EqualFold(text, "false"):
		return false, nil
	}
	return false, strconv.ErrSyntax
}

// parseNumber reads a decimal number within the field's range.
func (f *Field) parseNumber(text string) (float64, error) {
	for i := 0; i < len(text); i++ {
		if c := text[i]; (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, f.refuse(text) // no hexadecimal, underscore, Inf or NaN
		}
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, f.refuse(text)
	}
	return v + 0, f.checkRange(v, text)
}

// checkRange refuses a number out of range; text is how it was given, where
// that is not how it would be written.
func (f *Field) checkRange(v float64, text string) error {
	if !(v >= f.Min && v <= f.Max) || f.Above && v == f.Min || f.Whole && v != math.Trunc(v) {
		if text == "" {
			text = FormatNumber(v)
		}
		return f.refuse(text)
	}
	return nil
}

func (f *Field) setString(p *string, text string) error {
	if f.Enum != nil {
		for _, e := range f.Enum {
			if text == e {
				*p = e
				return nil
			}
		}
		return f.refuse(text)
	}
	if len(text) > f.most() {
		return &FieldError{f.Name, text, fmt.Sprintf("want at most %d bytes", f.most())}
	}
	if !cleanText(text, f.Long) {
		return &FieldError{f.Name, text, "want text in UTF-8 without control characters"}
	}
	*p = text
	return nil
}

// cleanText reports whether s is UTF-8 and free of control characters; long
// text may hold line feeds and tabs.
func cleanText(s string, long bool) bool {
	if !utf8.ValidString(s) {
		return false
	}
	for _, c := range s {
		if (c < 0x20 && !(long && (c == '\n' || c == '\t'))) || (c >= 0x7f && c <= 0x9f) {
			return false
		}
	}
	return true
}

func (f *Field) setTime(p *time.Time, text string) error {
	if f.Type == TypeDate {
		t, err := time.Parse(DateLayout, text)
		if err != nil || !saneYear(t) {
			return f.refuse(text)
		}
		*p = t
		return nil
	}
	var t time.Time
	if err := t.UnmarshalText([]byte(text)); err != nil || !saneYear(t) || !strictTime(text) {
		return f.refuse(text)
	}
	*p = inOwnZone(t)
	return nil
}

// strictTime refuses what the standard library takes beyond RFC 3339, 5.6:
// hours of one digit, a decimal comma, offsets of 24 hours or 60 minutes.
func strictTime(text string) bool {
	if text[13] != ':' || strings.Contains(text, ",") {
		return false
	}
	if strings.HasSuffix(text, "Z") {
		return true
	}
	offset := text[len(text)-5:]
	return offset[:2] < "24" && offset[3:] < "60"
}

func saneYear(t time.Time) bool { return t.Year() >= units.FirstYear && t.Year() <= units.LastYear }

// inOwnZone drops any name of the machine's own zone, so that a time depends
// on its text alone.
func inOwnZone(t time.Time) time.Time {
	_, offset := t.Zone()
	if offset%60 == 0 && offset > -24*3600 && offset < 24*3600 {
		return t.In(zoneOf(offset / 60))
	}
	return t.In(time.FixedZone("", offset))
}

// checkedTime brings a time that did not come from text into the same form.
func checkedTime(t time.Time, date bool) time.Time {
	if t.IsZero() {
		return t
	}
	if date {
		return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
	}
	return inOwnZone(t.Round(0))
}
