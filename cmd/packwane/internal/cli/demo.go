package cli

import (
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/pictures"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/simulate"
	"packwane/store"
)

func newDemo(a *app) *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use: "demo", Short: "Show it all on an invented log of two boards", GroupID: groupOther,
		Long: `Invents two years in the lives of two boards, ending now, and shows what
packwane makes of them: health, outlook, what is due, and charts. Since all of
it is invented, the truth is known and stands beside the answers.

The demo has a store of its own in a new temporary folder, or in the one you
give. Your own log is neither read nor changed.`,
		Example: `  packwane demo
  packwane demo --dir try-it`,
		Args: between(0, 0),
		RunE: func(*cobra.Command, []string) error {
			if a.storeFlag != "" {
				return wrong("--store %s: the demo has a store of its own; `--dir DIR` says where", a.storeFlag)
			}
			return a.demo(dir)
		},
	}
	c.Flags().StringVar(&dir, "dir", "", "the folder `DIR` for its store and charts (else a temporary one)")
	return c
}

// demoOf is what the demo says of one pack.
type demoOf struct {
	Health  *report.Health    `json:"health"`
	Outlook *report.Outlook   `json:"outlook"`
	Due     []report.Reminder `json:"due"`
	Truth   demoTruth         `json:"truth"`

	q   *question
	fit *model.Fit
}

// demoJSON is the document of demo --json.
type demoJSON struct {
	Invented bool        `json:"invented"`
	Folder   string      `json:"folder"`
	Store    string      `json:"store"`
	Packs    []*demoOf   `json:"packs"`
	Charts   []chartFile `json:"charts"`
}

func (a *app) demo(dir string) error {
	end, err := a.asOf()
	if err != nil {
		return err
	}
	records, truths, err := simulate.Demo(end.Truncate(time.Minute))
	if err != nil {
		return err
	}
	doc := demoJSON{Invented: true}
	if doc.Folder, err = demoFolder(dir); err != nil {
		return err
	}
	doc.Store = filepath.Join(doc.Folder, demoStore)
	if _, err := store.Import(doc.Store, entriesOf(records, "the invented demo"), "import of the invented demo", a.now); err != nil {
		return err
	}
	a.storeFlag = doc.Store
	for _, r := range records {
		if p, ok := r.(*logbook.Pack); ok {
			d, err := a.demoPack(p.ID, truths[p.ID].At(end))
			if err != nil {
				return err
			}
			doc.Packs = append(doc.Packs, d)
		}
	}
	if doc.Charts, err = a.demoCharts(doc); err != nil {
		return err
	}
	if a.json {
		return a.printJSON(doc)
	}
	return a.showDemo(doc)
}

// demoStore is the file name of the demo's store.
const demoStore = "demo.store"

// demoFolder makes the folder of the demo. One that holds a demo already is
// refused, so that what was tried there is not lost.
func demoFolder(dir string) (string, error) {
	if dir == "" {
		dir, err := os.MkdirTemp("", "packwane-demo-")
		if err != nil {
			return "", failed("cannot make a temporary folder: %w", err)
		}
		return dir, nil
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return "", failed("cannot make the folder %s: %w", dir, plainPath(err))
	}
	if _, err := os.Lstat(filepath.Join(dir, demoStore)); err == nil {
		return "", wrong("--dir %s: holds a demo already; want another folder, or remove %s there", dir, demoStore)
	}
	return dir, nil
}

// entriesOf gives records to import, each with its place among them, as if they
// stood in a file.
func entriesOf(records []logbook.Record, file string) iter.Seq2[logbook.Entry, error] {
	return func(yield func(logbook.Entry, error) bool) {
		for i, r := range records {
			if !yield(logbook.Entry{Record: r, At: logbook.Position{File: file, Line: i + 1}}, nil) {
				return
			}
		}
	}
}

// demoPack answers about one pack of the demo, from its store.
func (a *app) demoPack(id string, truth simulate.Facts) (*demoOf, error) {
	q, err := a.about([]string{id})
	if err != nil {
		return nil, err
	}
	d := &demoOf{q: q, fit: q.fit()}
	d.Health = report.HealthOf(q.history, d.fit)
	d.Outlook = report.OutlookOf(q.history, d.fit, report.DefaultOutlookMonths)
	d.Due = report.DueOf(q.history, d.fit, q.history.AsOf)
	d.Truth = demoTruth{
		RangeKm: truth.RangeKm, CapacityAh: truth.CapacityAh, SohPct: truth.SohPct, ResistanceMohm: truth.ResistanceMohm,
		EquivalentFullCycles: truth.EquivalentFullCycles, ConsumptionWhPerKm: truth.ConsumptionWhKm,
	}
	return d, nil
}

// demoCharts draws the pictures of every pack.
func (a *app) demoCharts(doc demoJSON) ([]chartFile, error) {
	ch := charting{
		dir: filepath.Join(doc.Folder, "charts"), kinds: pictures.Kinds, formats: []string{"png"}, theme: "light", size: "screen",
		months: report.DefaultOutlookMonths,
	}
	options, err := ch.options()
	if err != nil {
		return nil, err
	}
	var all []chartFile
	for _, d := range doc.Packs {
		files, err := a.draw(d.q, d.fit, ch, options)
		if err != nil {
			return nil, err
		}
		all = append(all, files...)
	}
	return all, nil
}

// showDemo prints what the demo found.
func (a *app) showDemo(doc demoJSON) error {
	out, wide := a.streams.Out, a.streams.width()
	intro := "Two boards, two years, all of it invented. Because it is, the truth is known: it stands beside the answers."
	fmt.Fprint(out, a.ink().head("A demo of packwane"), "\n", wrap("", intro, wide))
	for _, d := range doc.Packs {
		fmt.Fprintf(out, "\n%s\n", a.across())
		if err := a.showHealth(d.q, d.fit, d.Health, true); err != nil {
			return err
		}
		if err := a.showTruth(d); err != nil {
			return err
		}
		fmt.Fprintf(out, "\n%s\n", a.ink().head("Outlook, if it is used as lately"))
		if err := a.outlookBody(d.q, d.fit, d.Outlook.Every(report.Quarter)); err != nil {
			return err
		}
		fmt.Fprintf(out, "\n%s\n", a.ink().head("Due"))
		if err := a.dueText(d.Due, []string{d.q.history.Pack.ID}, d.q.history.AsOf, d.q.who.System); err != nil {
			return err
		}
	}
	return a.showNext(doc)
}
