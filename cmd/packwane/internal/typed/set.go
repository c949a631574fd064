package typed

import (
	"fmt"
	"regexp"
	"strings"
	"sync"
	"time"

	"packwane/health/logbook"
	"packwane/health/units"
)

// Word is one field as a person gives it: a name and a text. An empty text
// takes the field out of the record.
type Word struct{ Name, Text string }

// Rider is what has to be known of a person to understand what they type.
type Rider struct {
	System units.System // what a bare number under a name without a unit is in
	Now    time.Time    // in the rider's own zone
}

// Apply sets the fields of r from words, the time under which the record is
// filed first, since the others may refer to it ("end=19:20", "end=+1h10m").
// It returns, by field name, quantities as they were typed. The error names the
// field, the text and what would be accepted; r is then partly set.
func Apply(r logbook.Record, words []Word, who Rider) (map[string]string, error) {
	as := map[string]string{}
	given := map[string]bool{}
	var later []func() error
	for _, w := range words {
		n, err := Find(r.Kind(), w.Name)
		if err != nil {
			return nil, err
		}
		f, err := n.field(w.Text)
		if err != nil {
			return nil, err
		}
		if given[f.Name] {
			return nil, fmt.Errorf("%s is given twice: give it once", f.Name)
		}
		given[f.Name] = true
		set := func() error {
			text, err := set(r, f, w.Text, n.Full, who)
			as[f.Name] = text
			return err
		}
		if f.Name != "at" {
			later = append(later, set)
		} else if err := set(); err != nil {
			return nil, err
		}
	}
	for _, set := range later {
		if err := set(); err != nil {
			return nil, err
		}
	}
	return as, nil
}

// field picks, among the fields that a name may mean, the one whose unit text
// is in.
func (n Name) field(text string) (logbook.Field, error) {
	if f, ok := n.quantity(text); ok {
		if typedBase := Base(f); typedBase != n.Text {
			return f, fmt.Errorf("%s %q: is a name; want %s for a quantity", n.Text, text, typedBase)
		}
		return f, nil
	}
	if len(n.beside) > 0 && bare(text) {
		return logbook.Field{}, fmt.Errorf("%s %q: want a name, which is no number alone; for a quantity want %s", n.Text, text, n.beside[0].Name)
	}
	if len(n.Fields) == 1 {
		return n.Fields[0], nil
	}
	var fits []logbook.Field
	symbols := make([]string, len(n.Fields))
	names := make([]string, len(n.Fields))
	for i, f := range n.Fields {
		symbols[i], names[i] = f.Unit.String(), f.Name
		if _, as, err := units.Parse(text, f.Unit); err == nil && !bare(text) && as.Symbol != "" {
			fits = append(fits, f)
		}
	}
	if len(fits) == 1 {
		return fits[0], nil
	}
	if text == "" {
		return logbook.Field{}, fmt.Errorf("%s may be %s: name the one that is meant", n.Text, strings.Join(names, " or "))
	}
	return logbook.Field{}, fmt.Errorf("%s %q: want a number with its unit, %s", n.Text, text, strings.Join(symbols, " or "))
}

// quantity returns the field that is meant where a quantity is given for a
// name: rider=78kg, tyre="2.4 bar".
func (n Name) quantity(text string) (logbook.Field, bool) {
	if n.Fields[0].Type != logbook.TypeText || n.Fields[0].Enum != nil || bare(text) {
		return logbook.Field{}, false
	}
	for _, f := range n.beside {
		if _, as, err := units.Parse(text, f.Unit); err == nil && as.Symbol != "" {
			return f, true
		}
	}
	return logbook.Field{}, false
}

// bare reports whether text is a number without a unit.
func bare(text string) bool { return bareNumber().MatchString(strings.TrimSpace(text)) }

var (
	bareNumber = pattern(`^[-+]?[0-9.,]+$`)
	bareClock  = pattern(`(?i)^(([01]?\d|2[0-3]):[0-5]\d(:[0-5]\d)?|(0?\d|1[0-2])(:[0-5]\d)? ?[ap]m)$`)
	hourClock  = pattern(`^([01]?\d|2[0-3])h([0-5]\d)$`)
)

// pattern compiles a regular expression when it is first asked for: most calls
// of the program ask for none.
func pattern(text string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(text) })
}

// set sets one field and returns the quantity as it was typed, "" for what is
// no quantity.
func set(r logbook.Record, f logbook.Field, text string, full bool, who Rider) (string, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return "", f.SetText(r, "")
	}
	switch f.Type {
	case logbook.TypeNumber:
		return setNumber(r, f, text, full, who)
	case logbook.TypeNumbers:
		list, err := units.ParseList(text, f.Unit)
		if err != nil {
			return "", about(f, err)
		}
		cells := make([]string, len(list))
		for i, v := range list {
			cells[i] = logbook.FormatNumber(v)
		}
		return "", f.SetText(r, strings.Join(cells, " "))
	case logbook.TypeTime:
		t, err := clockTime(r, f, text, who.Now)
		if err != nil {
			return "", about(f, err)
		}
		return "", f.SetText(r, logbook.FormatTime(t))
	case logbook.TypeDate:
		t, err := units.ParseDate(text, who.Now)
		if err != nil {
			return "", about(f, err)
		}
		return "", f.SetText(r, t.Format(logbook.DateLayout))
	case logbook.TypeFlag:
		if f.SetText(r, truth(text)) != nil {
			return "", fmt.Errorf("%s %q: want yes or no", f.Name, text)
		}
		return "", nil
	}
	return "", f.SetText(r, choice(f, text))
}

func setNumber(r logbook.Record, f logbook.Field, text string, full bool, who Rider) (string, error) {
	system := who.System
	if full {
		system = units.Metric // the name says the unit
	}
	v, as, err := units.ParseIn(text, f.Unit, system)
	if err != nil {
		return "", about(f, err)
	}
	if err := f.SetText(r, logbook.FormatNumber(v)); err != nil {
		return "", inTheirUnits(f, err, as)
	}
	return as.String(), nil
}

// inTheirUnits says a refused range in the unit that was typed.
func inTheirUnits(f logbook.Field, err error, as units.Typed) error {
	if as.Symbol == f.Unit.String() || f.Whole {
		return err
	}
	return fmt.Errorf("%w (that is %s to %s)", err, as.Format(f.Min), as.Format(f.Max))
}

func about(f logbook.Field, err error) error { return fmt.Errorf("%s %w", f.Name, err) }

// truth brings the words for yes and no into the form of the files.
func truth(text string) string {
	switch strings.ToLower(text) {
	case "yes", "y", "on":
		return "true"
	case "no", "n", "off":
		return "false"
	}
	return strings.ToLower(text)
}

// choice brings one of a field's accepted texts into its own spelling, where
// case, blanks, hyphens and an "and" are all that differ. LFP is also known by its
// formula.
func choice(f logbook.Field, text string) string {
	if f.Name == "chemistry" && strings.EqualFold(text, "LiFePO4") {
		return "lfp"
	}
	bare := strings.NewReplacer(" and ", "", "-and-", "", "_and_", "", " ", "", "-", "", "_", "")
	for _, e := range f.Enum {
		if bare.Replace(e) == bare.Replace(strings.ToLower(text)) {
			return e
		}
	}
	return text
}

// clockTime reads a time. Next to the time under which the record is filed a
// time of day alone is the one next after it (before it, for a start), and a
// duration is counted from it.
func clockTime(r logbook.Record, f logbook.Field, text string, now time.Time) (time.Time, error) {
	at := logbook.AtOf(r)
	back := f.Name == "start"
	if f.Name == "at" || f.Name == "until" || at.IsZero() {
		return units.ParseTime(text, now)
	}
	at = at.In(now.Location())
	if bareClock().MatchString(text) {
		return nextTo(at, text, back)
	}
	if parts := hourClock().FindStringSubmatch(text); parts != nil {
		return clockOrLong(at, parts[1], parts[2], back)
	}
	if minutes, _, err := units.Parse(strings.TrimLeft(text, "+-"), units.Min); err == nil && !bare(text) {
		d := time.Duration(minutes * float64(time.Minute))
		if back {
			d = -d
		}
		return at.Add(d), nil
	}
	return units.ParseTime(text, now)
}

// nextTo reads a time of day as the one next after at, or before it.
func nextTo(at time.Time, text string, back bool) (time.Time, error) {
	t, err := units.ParseTime(text, at)
	switch {
	case err != nil:
		return t, err
	case back && t.After(at):
		return t.AddDate(0, 0, -1), nil
	case !back && t.Before(at):
		return t.AddDate(0, 0, 1), nil
	}
	return t, nil
}

// longestRide is how long a ride or a charge may last, to be meant rather than
// something shorter. Common practice, no source.
const longestRide = 4 * time.Hour

// clockOrLong reads 11h40 as a time of day or as a duration from at: as the only one
// that makes an event of usual length.
func clockOrLong(at time.Time, hours, minutes string, back bool) (time.Time, error) {
	clock, err := nextTo(at, hours+":"+minutes, back)
	if err != nil {
		return clock, err
	}
	long, err := time.ParseDuration(hours + "h" + minutes + "m")
	if err != nil {
		return clock, err
	}
	switch takes := clock.Sub(at).Abs(); {
	case takes <= longestRide && long > longestRide:
		return clock, nil
	case takes > longestRide && long <= longestRide:
		if back {
			long = -long
		}
		return at.Add(long), nil
	}
	return clock, fmt.Errorf(`"%[1]sh%[2]s": want %[1]s:%[2]s for the time of day, or +%[1]sh%[2]sm for how long`, hours, minutes)
}
