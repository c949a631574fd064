package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/prose"
	"packwane/health/report"
)

// charting says which pictures to write, and how.
type charting struct {
	dir     string
	kinds   []string
	formats []string
	theme   string
	size    string
	months  int
}

var (
	chartFormats = []string{"svg", "png"}
	chartThemes  = []string{"light", "dark"}
	chartSizes   = []string{"screen", "phone", "print"}
)

func newChart(a *app) *cobra.Command {
	var ch charting
	c := &cobra.Command{
		Use: "chart [PACK]", Short: "Draw range, capacity, resistance, consumption and losses", GroupID: groupAnswers,
		Long: `Draws what the log shows of a pack: measurements brought to reference
conditions, the fitted course with the band that holds 90 % of what is
believable, and what lies ahead if the pack is used as lately. Each picture is
a file PACK-KIND.FORMAT; one that is there already is replaced.

The kinds are range (with the season), capacity, resistance, consumption (over
the air temperature), round-trip (energy out over energy in, from one full
charge to the next), standby (what the pack lost at rest, by its volts) and
sheet (all of them on one).`,
		Example: `  packwane chart kite-a --out pictures
  packwane chart kite-a --kind sheet --size print --format svg
  packwane chart kite-a --kind range --theme dark --size phone`,
		Args:              between(0, 1),
		RunE:              func(_ *cobra.Command, args []string) error { return a.chart(args, ch) },
		ValidArgsFunction: a.completeOne(logbook.KindPack),
	}
	f := c.Flags()
	f.StringVar(&ch.dir, "out", ".", "the folder `DIR` to write to, made where it is not there")
	f.StringSliceVar(&ch.kinds, "kind", pictures.Kinds, "the pictures to draw")
	f.Lookup("kind").DefValue = "all" // the list is too long for a line
	f.StringSliceVar(&ch.formats, "format", []string{"png"}, "png, svg or both")
	f.StringVar(&ch.theme, "theme", "light", "light or dark")
	f.StringVar(&ch.size, "size", "screen", "screen, phone or print")
	f.IntVar(&ch.months, "months", report.DefaultOutlookMonths, "how far to look ahead")
	c.RegisterFlagCompletionFunc("kind", cobra.FixedCompletions(pictures.Kinds, noFiles))
	c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(chartFormats, noFiles))
	c.RegisterFlagCompletionFunc("theme", cobra.FixedCompletions(chartThemes, noFiles))
	c.RegisterFlagCompletionFunc("size", cobra.FixedCompletions(chartSizes, noFiles))
	return c
}

// chartFile is one picture that was written.
type chartFile struct {
	Kind   string `json:"kind"`
	Format string `json:"format"`
	File   string `json:"file"`
}

// chartJSON is the document of chart --json.
type chartJSON struct {
	Pack  string      `json:"pack"`
	AsOf  string      `json:"as_of"`
	Files []chartFile `json:"files"`
}

func (a *app) chart(args []string, ch charting) error {
	options, err := ch.options()
	if err != nil {
		return err
	}
	q, err := a.about(args)
	if err != nil {
		return err
	}
	files, err := a.draw(q, q.fit(), ch, options)
	if err != nil {
		return err
	}
	if a.json {
		return a.printJSON(chartJSON{q.history.Pack.ID, logbook.FormatTime(q.history.AsOf), files})
	}
	for _, f := range files {
		fmt.Fprintln(a.streams.Out, clean(f.File))
	}
	return nil
}

// options checks what the call asks for and returns how to render it.
func (ch *charting) options() (charts.Options, error) {
	for _, list := range []struct {
		flag   string
		given  []string
		accept []string
	}{
		{"kind", ch.kinds, pictures.Kinds}, {"format", ch.formats, chartFormats}, {"theme", []string{ch.theme}, chartThemes}, {"size", []string{ch.size}, chartSizes},
	} {
		if len(list.given) == 0 {
			return charts.Options{}, wrong("--%s \"\": want %s", list.flag, prose.List(list.accept, "or"))
		}
		for _, word := range list.given {
			if !slices.Contains(list.accept, word) {
				return charts.Options{}, wrong("--%s %q: want %s", list.flag, word, prose.List(list.accept, "or"))
			}
		}
	}
	if err := checkMonths(ch.months); err != nil {
		return charts.Options{}, err
	}
	o := charts.Options{Size: charts.Screen()}
	switch ch.size {
	case "phone":
		o.Size = charts.Phone()
	case "print":
		o.Size = charts.Print()
	}
	if ch.theme == "dark" {
		o.Theme = charts.Dark
	}
	if o.Theme == charts.Dark && ch.size == "print" {
		return o, wrong("--theme dark: paper is white; want --theme light for --size print")
	}
	return o, nil
}

// draw writes the pictures of one pack into the folder.
func (a *app) draw(q *question, fit *model.Fit, ch charting, options charts.Options) ([]chartFile, error) {
	of := picturesOf(q.history, fit, ch.months, fitHistory, q.who.System, a.now.Location())
	if err := os.MkdirAll(ch.dir, 0o777); err != nil {
		return nil, failed("cannot make the folder %s: %w", ch.dir, plainPath(err))
	}
	var files []chartFile
	for _, kind := range ch.kinds {
		p := of.Picture(kind)
		for _, format := range ch.formats {
			name := filepath.Join(ch.dir, fileName(q.history.Pack.ID)+"-"+kind+"."+format)
			if err := a.picture(name, p, options); err != nil {
				return nil, err
			}
			files = append(files, chartFile{kind, format, name})
		}
	}
	return files, nil
}

// fileName makes an id into the beginning of a file's name on any system:
// letters, digits, ".", "_" and "-" stay, the first no dot, others become "_".
func fileName(id string) string {
	name := []rune(id)
	for i, r := range name {
		plain := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '_' || r == '-' || r == '.' && i > 0
		if !plain {
			name[i] = '_'
		}
	}
	return string(name[:min(len(name), 100)])
}
