package cli

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/health/report"
	"packwane/health/units"
)

// reporting is how a report is asked for.
type reporting struct {
	markdown bool
	out      string
}

func newReport(a *app) *cobra.Command {
	var ask reporting
	c := &cobra.Command{
		Use: "report PACK [PACK...]", Short: "Write a report of a pack, or a comparison, to hand on", GroupID: groupAnswers,
		Long: `Writes one self-contained HTML page about a pack, or about several with their
comparison: the conditions, the figures with their bounds, charts, what was
corrected and by how much, the tests as logged, and the parameters that
Regulation (EU) 2023/1542, Annex VII, names for the battery of a light vehicle.
It holds the names, dates and notes of the log: read it before you publish it.`,
		Example: `  packwane report kite-a --out kite-a.html
  packwane report kite-a kite-b --markdown > both.md`,
		Args:              between(1, 6),
		RunE:              func(_ *cobra.Command, args []string) error { return a.reportPacks(args, ask) },
		ValidArgsFunction: a.completePacks,
	}
	c.Flags().BoolVar(&ask.markdown, "markdown", false, "write Markdown, without pictures")
	c.Flags().StringVar(&ask.out, "out", "-", "write to `FILE` (- for standard output)")
	return c
}

func (a *app) reportPacks(args []string, ask reporting) error {
	if a.json {
		return wrong("--json: a report is a page: want `packwane health`, `compare` and `due` with --json instead")
	}
	qs, known, err := a.aboutPacks(args)
	if err != nil {
		return err
	}
	sys := qs[0].who.System
	d := report.DocumentOf(known, sys)
	write := func(w io.Writer) error { return writeMarkdown(w, d) }
	if !ask.markdown {
		write = func(w io.Writer) error { return writePage(w, d, known, sys, a.now.Location()) }
	}
	if ask.out == "-" {
		return write(a.streams.Out)
	}
	return a.writeOutput(ask.out, write)
}

// page is the whole HTML: it loads nothing, runs nothing, and prints well.
var page = sync.OnceValue(func() *template.Template { return template.Must(template.New("page").Parse(pageText)) })

const pageText = `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<title>{{.Title}}</title>
<style>
body { font: 1rem/1.5 system-ui, sans-serif; color: #1d2327; background: #fff; max-width: 56rem; margin: 0 auto; padding: 1.5rem 1rem 4rem; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: 0 0 .5rem; }
h2 { font-size: 1.2rem; margin: 2.2rem 0 .6rem; }
p { margin: .4rem 0; max-width: 42rem; overflow-wrap: anywhere; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; margin: .8rem 0; font-variant-numeric: tabular-nums; }
th, td { text-align: left; padding: .25rem .9rem .25rem 0; border-bottom: 1px solid #d7dbdf; vertical-align: top; }
th { font-weight: 600; }
.many { font-size: .82rem; }
.many th, .many td { white-space: nowrap; padding-right: .6rem; }
figure { margin: 1rem 0; }
figure svg { max-width: 100%; height: auto; }
@media print { body { max-width: none; padding: 0; } h2 { break-after: avoid; } figure, tr { break-inside: avoid; } }
</style>
</head>
<body>
<h1>{{.Title}}</h1>
<p>{{.Lead}}</p>
{{range .Parts}}<section>
<h2>{{.Title}}</h2>
{{range .Words}}<p>{{.}}</p>
{{end}}{{if .Rows}}<div class="wide"><table{{if .Many}} class="many"{{end}}>
{{if .Named}}<thead><tr>{{range .Heads}}<th scope="col">{{.}}</th>{{end}}</tr></thead>
{{end}}<tbody>
{{range .Rows}}<tr>{{range $i, $cell := .}}{{if $i}}<td>{{$cell}}</td>{{else}}<th scope="row">{{$cell}}</th>{{end}}{{end}}</tr>
{{end}}</tbody>
</table></div>
{{end}}{{range .Drawn}}<figure>{{.}}</figure>
{{end}}</section>
{{end}}</body>
</html>
`

// pagePart is a part with its pictures drawn.
type pagePart struct {
	report.Part
	Drawn []template.HTML
}

// Named reports whether the table has headings that say something.
func (p pagePart) Named() bool { return strings.Join(p.Heads, "") != "" }

// Many reports whether the table has so many columns that a cell would break.
func (p pagePart) Many() bool { return len(p.Heads) > 6 }

// writePage writes the document as one page. All words are escaped by the
// template; the pictures escape theirs themselves.
func writePage(w io.Writer, d *report.Document, known []report.Known, sys units.System, zone *time.Location) error {
	data := struct {
		Title, Lead string
		Parts       []pagePart
	}{Title: clean(d.Title), Lead: d.Lead}
	draw := drawer{known: known, sys: sys, zone: zone}
	for _, p := range d.Parts {
		part := pagePart{Part: p}
		for _, kind := range p.Pictures {
			drawn, err := draw.kind(kind, p.Pack)
			if err != nil {
				return err
			}
			if drawn != "" {
				part.Drawn = append(part.Drawn, drawn)
			}
		}
		data.Parts = append(data.Parts, part)
	}
	return page().Execute(w, data)
}

// drawer draws the pictures of a document.
type drawer struct {
	known []report.Known
	sys   units.System
	zone  *time.Location
	of    map[string]pictures.Of // by pack
}

// pack gathers what the pictures of one pack are made of, once.
func (d *drawer) pack(k report.Known) pictures.Of {
	id := k.History.Pack.ID
	of, ok := d.of[id]
	if !ok {
		of = picturesOf(k.History, k.Fit, report.DefaultOutlookMonths, nil, d.sys, d.zone)
		if d.of == nil {
			d.of = map[string]pictures.Of{}
		}
		d.of[id] = of
	}
	return of
}

// kind draws one picture; "" where the pack has none such.
func (d *drawer) kind(kind, pack string) (template.HTML, error) {
	var p charts.Picture
	if kind == pictures.Comparison {
		p = pictures.Compared(report.ComparePacks(d.known, report.Overrides{}), d.sys)
	}
	for _, k := range d.known {
		if kind != pictures.Comparison && k.History.Pack.ID == pack {
			p = d.pack(k).Shown(kind)
		}
	}
	if p == nil {
		return "", nil
	}
	var b bytes.Buffer
	if err := charts.WriteSVG(&b, p, charts.Options{}); err != nil {
		return "", err
	}
	svg := b.String()
	if i := strings.Index(svg, "<svg"); i > 0 { // what stands before is for a file of its own
		svg = svg[i:]
	}
	return template.HTML(svg), nil
}

// writeMarkdown writes the document as Markdown that shows every word as it is.
func writeMarkdown(w io.Writer, d *report.Document) error {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n\n%s\n", markdown(d.Title), markdown(d.Lead))
	for _, p := range d.Parts {
		fmt.Fprintf(&b, "\n## %s\n\n", markdown(p.Title))
		for _, words := range p.Words {
			fmt.Fprintf(&b, "%s\n\n", markdown(words))
		}
		if len(p.Rows) == 0 {
			continue
		}
		row := func(cells []string) {
			b.WriteString("|")
			for _, c := range cells {
				b.WriteString(" " + markdown(c) + " |")
			}
			b.WriteString("\n")
		}
		row(p.Heads)
		b.WriteString("|" + strings.Repeat(" --- |", len(p.Heads)) + "\n")
		for _, r := range p.Rows {
			row(r)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
