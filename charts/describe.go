package charts

import (
	"fmt"
	"math"
	"strings"
)

// AltText implements Picture: the figure's own Alt, or else its parts one after the other with their ends and extremes.
func (f Figure) AltText() string {
	f = f.clean()
	if f.Alt != "" {
		return f.Alt
	}
	if f.empty() {
		return joinSentences(nothingYet, f.Hint)
	}
	var parts []string
	if name := f.Y.name(); name != "" {
		over := f.X.name()
		if over == "" && f.X.Calendar {
			over = "time"
		}
		parts = append(parts, name+prefixed(" over ", over))
	}
	for _, p := range f.Points {
		parts = append(parts, f.describePoints(p))
	}
	for _, l := range f.Lines {
		a, b := l.Through[0], l.Through[len(l.Through)-1]
		parts = append(parts, fmt.Sprintf("%s: from %s at %s to %s at %s", orElse(l.Name, "line"), f.yText(a.Y), f.xText(a.X), f.yText(b.Y), f.xText(b.X)))
	}
	for _, b := range f.Bands {
		s := b.Spans[len(b.Spans)-1]
		parts = append(parts, fmt.Sprintf("%s: %s to %s at %s", orElse(b.Name, "band"), f.yText(s.Low), f.yText(s.High), f.xText(s.X)))
	}
	for _, l := range f.Levels {
		parts = append(parts, fmt.Sprintf("%s: %s", orElse(l.Label, "level"), f.yText(l.Y)))
	}
	for _, e := range f.Events {
		parts = append(parts, fmt.Sprintf("%s: %s", orElse(e.Label, "event"), f.xText(e.X)))
	}
	for _, n := range f.Notes {
		parts = append(parts, fmt.Sprintf("note at %s: %s", f.xText(n.X), n.Text))
	}
	return joinSentences(parts...)
}

func (f Figure) describePoints(p Points) string {
	var x, y reach
	for _, m := range p.Marks {
		x.add(m.X)
		y.add(m.Y)
	}
	name := orElse(p.Name, "points")
	doubted := ""
	if n := doubtedMarks(p.Marks); n > 0 {
		doubted = fmt.Sprintf(", %d doubted", n)
	}
	if len(p.Marks) == 1 {
		return fmt.Sprintf("%s: %s at %s%s", name, f.yText(y.low), f.xText(x.low), doubted)
	}
	return fmt.Sprintf("%s: %d from %s to %s, between %s and %s%s", name, len(p.Marks), f.xText(x.low), f.xText(x.high), f.yText(y.low), f.yText(y.high), doubted)
}

// xText writes a value of X, a day on a calendar axis.
func (f Figure) xText(v float64) string {
	if f.X.Calendar {
		return timeOf(v, f.X.Zone).Format("2006-01-02")
	}
	return quantity(v, f.X.Unit)
}

func (f Figure) yText(v float64) string { return quantity(v, f.Y.Unit) }

// quantity writes a value to three significant digits, with its unit.
func quantity(v float64, unit string) string {
	places := 0
	if v != 0 {
		places = int(min(max(2-math.Floor(math.Log10(math.Abs(v))), 0), 9))
	}
	return formatNumber(v, places) + prefixed(" ", unit)
}

func prefixed(prefix, s string) string {
	if s == "" {
		return ""
	}
	return prefix + s
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// joinSentences ends each part with one full stop.
func joinSentences(parts ...string) string {
	var b strings.Builder
	for _, p := range parts {
		if p = strings.TrimRight(p, ". "); p == "" {
			continue
		}
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(p + ".")
	}
	return b.String()
}
