package cli

import (
	"fmt"
	"path/filepath"
	"runtime/debug"
	"strings"

	"github.com/adrg/xdg"

	"packwane/cmd/packwane/internal/fits"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
	"packwane/store"
)

// question is what an answer about one pack starts from: its history by
// --as-of, and who asks.
type question struct {
	history *logbook.History
	alike   []*logbook.History // of packs with the same cells
	who     typed.Rider
}

// about reads the history of the pack that a person means by word, "" for the
// only one or the last one logged for. The store is closed again before
// anything is computed.
func (a *app) about(args []string) (*question, error) {
	asOf, err := a.asOf()
	if err != nil {
		return nil, err
	}
	collectLess()
	word := ""
	if len(args) > 0 {
		word = args[0]
	}
	var records []logbook.Record
	q := &question{}
	err = a.read(func(s *store.Store) error {
		if q.who, err = a.rider(s); err != nil {
			return err
		}
		if word == "" {
			if word, err = meantPack(s); err != nil {
				return err
			}
		}
		p, err := findPack(s, word)
		if err != nil {
			return err
		}
		word = p.ID
		if records, err = s.PackRecords(p.ID); err != nil {
			return err
		}
		q.alike, err = fits.Histories(s, p, asOf)
		return err
	})
	if err != nil {
		return nil, err
	}
	q.history, err = logbook.NewHistory(word, records, asOf)
	return q, err
}

// collectLess has the collector of memory wait for four times what it is used
// to: an answer about one pack needs nearly all that it reads until it ends, so
// that early collections take their time and free next to nothing.
func collectLess() { debug.SetGCPercent(400) }

// keptFits is the user's cache folder for fits.
func keptFits() fits.Cache {
	return fits.Cache{Dir: filepath.Join(xdg.CacheHome, "packwane", "fits")}
}

// fit fits the model to the question's history, with what packs of the same
// cells lend it.
func (q *question) fit() *model.Fit { return keptFits().Fit(q.history, keptFits().Siblings(q.alike)) }

// fitHistory fits the model to a history alone.
func fitHistory(h *logbook.History) *model.Fit { return keptFits().Fit(h, nil) }

// title prints the name of the pack with the moment that is looked at, and a
// line of words below.
func (a *app) title(q *question, words string) error {
	p := q.history.Pack
	name := p.Name
	if name == "" {
		name = p.ID
	}
	asOf := "as of " + units.FormatDate(q.history.AsOf.In(a.now.Location()))
	wide := a.streams.width()
	name = fit(clean(name), wide-columns(asOf)-2)
	_, err := fmt.Fprint(a.streams.Out, a.ink().head(name), strings.Repeat(" ", wide-columns(name)-columns(asOf)), asOf, "\n", wrap("", words, wide))
	return err
}

// sparkColumns is how wide a course is drawn.
const sparkColumns = 24

// drawCourse adds a small picture of a course, for people only.
func (f *figures) drawCourse(label string, u units.Unit, course []report.CoursePoint) {
	if len(course) < 4 {
		return
	}
	values := make([]float64, len(course))
	for i, p := range course {
		values[i] = p.Value
	}
	first := course[0]
	f.draw(label, units.Spark(units.Shrink(values, sparkColumns))+"  from "+units.Format(first.Value, u, f.system)+" in "+first.At.Format("Jan 2006"))
}

// warnRider says what speaks against riding on, or for an inspection first.
func (a *app) warnRider(q *question, fit *model.Fit) error {
	if at := q.history.RetiredAt(); !at.IsZero() {
		if err := a.alarm("RETIRED", report.RetiredWords(q.history, at)); err != nil {
			return err
		}
	}
	for _, r := range report.DueFor(q.history, fit, q.history.AsOf, report.StopRiding, report.Retire, report.Inspect) {
		if !r.Grave(q.history.AsOf) {
			continue
		}
		if err := a.alarm(strings.ToUpper(r.Action.Title()), r.BecauseIn(q.who.System)+". See `packwane due "+q.history.Pack.ID+"`"); err != nil {
			return err
		}
	}
	return nil
}

// alarm prints what stands against riding, behind a word that catches the eye.
func (a *app) alarm(word, text string) error {
	text = wrap(word+": ", strings.TrimSuffix(text, ".")+".", a.streams.width())
	_, err := fmt.Fprint(a.streams.Out, "\n", a.ink().alarm(word), strings.TrimPrefix(text, word))
	return err
}
