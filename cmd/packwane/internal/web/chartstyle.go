package web

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"packwane/charts"
)

// A picture stands in a page once, in its light colours; the style sheet turns
// them where a dark scheme is preferred. Which colour becomes which is not
// written down here: the same pictures are drawn in both themes and held
// against each other.

var paint = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`\b(fill|stroke|fill-opacity|stroke-opacity)="([^"]+)"`)
})

// chartStyle returns the rules that turn a light picture dark.
func chartStyle() []byte {
	turned := map[string]string{}
	for _, p := range everyPaint() {
		light, dark := paints(p, charts.Light), paints(p, charts.Dark)
		if len(light) != len(dark) {
			panic("web: a picture is drawn differently in the dark")
		}
		for i := range light {
			if light[i] != dark[i] && dark[i][2] != "none" {
				turned[fmt.Sprintf(`.chart [%s="%s"]`, light[i][1], light[i][2])] = light[i][1] + ":" + dark[i][2]
			}
		}
	}
	rules := make([]string, 0, len(turned))
	for selector, rule := range turned {
		rules = append(rules, selector+"{"+rule+"}")
	}
	slices.Sort(rules)
	return []byte("@media screen and (prefers-color-scheme: dark){" + strings.Join(rules, "") + "}\n")
}

// paints lists the paint attributes of a picture in their order.
func paints(p charts.Picture, theme charts.Theme) [][3]string {
	var b bytes.Buffer
	if err := charts.WriteSVG(&b, p, charts.Options{Theme: theme}); err != nil {
		panic(err) // of a picture of our own
	}
	var out [][3]string
	for _, m := range paint().FindAllStringSubmatch(b.String(), -1) {
		out = append(out, [3]string(m))
	}
	return out
}

// everyPaint are pictures that use every colour there is.
func everyPaint() []charts.Picture {
	f := charts.Figure{
		X: charts.Axis{Label: "x"}, Y: charts.Axis{Label: "y"}, Shades: []charts.Shade{{Low: 0, High: 1, Label: "shade"}},
		Levels: []charts.Level{{Y: 1, Label: "level"}}, Events: []charts.Event{{X: 1, Label: "event"}}, Notes: []charts.Note{{X: 1, Y: 1, Text: "note"}},
	}
	w := charts.Waterfall{
		From: charts.Total{Name: "from", Value: 3, OK: true}, To: charts.Total{Name: "to", Value: 4, OK: true},
		Steps: []charts.Step{
			{Name: "up", Value: 2, Interval: true, Low: 1, High: 3}, {Name: "down", Value: -1, Interval: true, Low: -2, High: 0},
			{Name: "unresolved", Value: .1, Interval: true, Low: -1, High: 1, Unresolved: true},
		},
	}
	b := charts.Bars{}
	for k := range charts.Colours {
		x := float64(k)
		f.Bands = append(f.Bands, charts.Band{Name: "band", Colour: k, Spans: []charts.Span{{X: 0, Low: x, High: x + 1}, {X: 2, Low: x, High: x + 1}}})
		f.Lines = append(f.Lines, charts.Line{Name: "line", Colour: k, Dashed: k%2 == 0, Through: []charts.XY{{X: 0, Y: x}, {X: 2, Y: x}}})
		f.Points = append(f.Points, charts.Points{Name: "points", Colour: k, Marks: []charts.Mark{{X: 1, Y: x, Bar: true, Low: x - 1, High: x + 1}, {X: 2, Y: x, Doubted: true}}})
		b.Items = append(b.Items, charts.Item{Name: "item", Colour: k, Value: x, Interval: true, Low: x - 1, High: x + 1})
	}
	return []charts.Picture{f, w, b, charts.Figure{Hint: "hint"}}
}
