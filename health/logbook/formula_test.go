package logbook

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
)

// TestFormulasAreNoFormulasInCSV: no text of a record begins a cell as a formula
// does, and each reads back as it was.
func TestFormulasAreNoFormulasInCSV(t *testing.T) {
	for _, text := range []string{"=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0", "'=1", "''-x", "'", "'plain", "plain", "a=b", "\t=1", "=HYPERLINK(\"http://x\",\"y\")"} {
		p := New(KindPack).(*Pack)
		p.ID, p.Note = "reed-a", text
		if !strings.Contains(text, "\t") {
			p.ID, p.Name = text, text
		}
		var b bytes.Buffer
		w := NewCSVWriter(&b)
		if err := w.Write(p); err != nil {
			t.Fatal(err)
		}
		w.Close()
		rows, err := csv.NewReader(bytes.NewReader(b.Bytes())).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, cell := range rows[1] {
			if cell != "" && strings.Contains("=+-@\t\r", cell[:1]) {
				t.Errorf("%q: the cell %q is a formula", text, cell)
			}
		}
		for e, err := range Read(&b, "in.csv") {
			if err != nil {
				t.Fatal(err)
			}
			if back := e.Record.(*Pack); back.Note != p.Note || back.Name != p.Name || back.ID != p.ID {
				t.Errorf("%q comes back as %q, %q, %q", text, back.ID, back.Name, back.Note)
			}
		}
	}
	// A number below zero is a number.
	r := New(KindRide).(*Ride)
	r.ID, r.Pack, r.At, r.AmbientC = "r", "reed-a", slipDay("10:00"), Some(-7)
	var b bytes.Buffer
	w := NewCSVWriter(&b)
	w.Write(r)
	w.Close()
	if !strings.Contains(b.String(), ",-7,") {
		t.Errorf("-7 degrees are written otherwise: %s", b.String())
	}
}
