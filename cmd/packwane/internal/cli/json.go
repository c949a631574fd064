package cli

import (
	"bytes"
	"encoding/json"

	"packwane/health/logbook"
)

// printJSON writes v as the one document on standard output.
func (a *app) printJSON(v any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return err
	}
	_, err := a.streams.Out.Write(b.Bytes())
	return err
}

// stored is a record as it is stored, in a JSON document.
type stored struct{ logbook.Record }

// MarshalJSON writes the record as one line of the log would.
func (s stored) MarshalJSON() ([]byte, error) { return logbook.AppendJSON(nil, s.Record), nil }
