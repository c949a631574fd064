package cli

import (
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"packwane/health/report"
	"packwane/health/units"
)

// demoTruth is what an invented pack really is.
type demoTruth struct {
	RangeKm              float64 `json:"range_km"`
	CapacityAh           float64 `json:"capacity_ah"`
	SohPct               float64 `json:"soh_pct"`
	ResistanceMohm       float64 `json:"resistance_mohm"`
	EquivalentFullCycles float64 `json:"equivalent_full_cycles"`
	ConsumptionWhPerKm   float64 `json:"consumption_wh_per_km"`
}

// across is a line across the page.
func (a *app) across() string { return strings.Repeat("─", a.streams.width()) }

// showTruth holds the answers against the truth.
func (a *app) showTruth(d *demoOf) error {
	f := newFigures(d.q.who.System, nil)
	f.head("The truth behind the invention")
	h := d.Health
	for _, t := range []struct {
		label string
		v     float64
		e     *report.Estimate
		u     units.Unit
	}{
		{"range", d.Truth.RangeKm, h.RangeKm, units.Km},
		{"consumption", d.Truth.ConsumptionWhPerKm, h.ConsumptionWhPerKm, units.WhPerKm},
		{"capacity", d.Truth.CapacityAh, h.CapacityAh, units.Ah},
		{"state of health", d.Truth.SohPct, h.SohPct, units.Pct},
		{"resistance", d.Truth.ResistanceMohm, h.ResistanceMohm, units.Mohm},
	} {
		f.given(report.Given{Label: t.label, Value: t.v, Unit: t.u, Remark: inBounds(t.v, t.e, t.u, f.system)})
	}
	return f.writeAligned(a)
}

// inBounds says whether the truth lies in an estimate's bounds.
func inBounds(v float64, e *report.Estimate, u units.Unit, sys units.System) string {
	switch {
	case e == nil:
		return "said to be unknown"
	case e.Low != nil && v < *e.Low:
		return "below the bound of " + units.Format(*e.Low, u, sys)
	case e.High != nil && v > *e.High:
		return "above the bound of " + units.Format(*e.High, u, sys)
	}
	return "within the bounds"
}

// showNext says where everything is and what to try next.
func (a *app) showNext(doc demoJSON) error {
	out := a.streams.Out
	fmt.Fprintf(out, "\n%s\n%s\n", a.across(), a.ink().head("Charts"))
	for _, c := range doc.Charts {
		if c.Kind == "sheet" {
			fmt.Fprintf(out, "  %s\n", clean(c.File))
		}
	}
	fmt.Fprintln(out, "  and each picture of these sheets on its own beside them")
	fmt.Fprintf(out, "\n%s\n", a.ink().head("Try next"))
	pack := "wren-pack"
	if len(doc.Packs) > 0 {
		pack = doc.Packs[0].Health.Pack
	}
	for _, call := range []string{
		"list " + pack + " --kind ride --limit 10",
		"health " + pack + " --json",
		"outlook " + pack + " --months 36",
		"hindcast " + pack,
		"due",
		"audit " + pack,
		"chart " + pack + " --theme dark --size phone --out " + quoted(filepath.Join(doc.Folder, "phone")),
	} {
		a.sayCall(doc.Store, call)
	}
	_, err := fmt.Fprintf(out, "\nYour own log was not touched. To be rid of the demo, remove the folder\n  %s\n", clean(doc.Folder))
	return err
}

// sayCall prints a call of this program on a store, such that it works where it
// is pasted.
func (a *app) sayCall(path, call string) {
	name := selfName()
	line := "  " + name + " --store " + quoted(path) + " " + call
	if columns(line) > a.streams.width() && os.PathSeparator == '/' {
		line = "  " + name + " --store " + quoted(path) + " \\\n      " + call
	}
	fmt.Fprintln(a.streams.Out, line)
}

// quoted writes a word for a shell.
func quoted(word string) string {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("/\\:._-+,@%", r)
	}
	if word != "" && strings.IndexFunc(word, func(r rune) bool { return !plain(r) }) < 0 {
		return word
	}
	if os.PathSeparator == '/' {
		return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
	}
	return `"` + word + `"`
}

// selfName is how this program is called from here: by its name where that
// finds it, through the go command where that built it for one run, else by its
// path.
func selfName() string {
	const name = "packwane"
	self, err := os.Executable()
	if err != nil {
		return name
	}
	if found, err := exec.LookPath(name); err == nil && sameFile(found, self) {
		return name
	}
	if strings.Contains(filepath.ToSlash(self), "/go-build") {
		if _, err := os.Stat("cmd/packwane/main.go"); err == nil {
			return "go run ./cmd/packwane"
		}
		return "go run packwane/cmd/packwane"
	}
	return quoted(self)
}

func sameFile(a, b string) bool {
	var infos [2]fs.FileInfo
	for i, name := range []string{a, b} {
		info, err := os.Stat(name)
		if err != nil {
			return false
		}
		infos[i] = info
	}
	return os.SameFile(infos[0], infos[1])
}
