package units

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"packwane/health/prose"
)

// Typed remembers a quantity as the rider wrote it, so that it can be echoed
// in the rider's own unit.
type Typed struct {
	Value  float64 // the number in that unit: 9.5
	Symbol string  // the usual symbol of that unit: "mi"; "" for Count
	Unit   Unit    // the canonical unit of the same dimension
	scale  Scale
	text   string
	parts  bool // a duration in parts, such as 1h10m
}

// String returns what was typed in its usual spelling: "9.5 mi", "1 h 10 min".
// Parse reads it back as the same value.
func (t Typed) String() string { return t.text }

// Format writes v, a value in the canonical unit, in the unit that the rider
// used, rounded as the function Format rounds.
func (t Typed) Format(v float64) string {
	if t.parts {
		return Format(v, t.Unit, Metric)
	}
	if t.scale.div == 0 {
		return significant(v)
	}
	return join(significant(t.scale.From(v)), t.Symbol)
}

// ParseError says why a typed quantity, time or date was not taken.
type ParseError struct {
	Text string // as typed, shortened
	Want string // what would be accepted: "want a mass in kg or lb ..."
}

// Error prints the text and what would be accepted, on one line.
func (e *ParseError) Error() string {
	if e.Text == "" {
		return e.Want
	}
	return strconv.Quote(e.Text) + ": " + e.Want
}

func refuse(text, want string) error { return &ParseError{prose.Clip(text), want} }

// Parse reads a quantity as a person types it, with or without its unit, and
// returns it in the canonical unit, rounded to 14 significant figures where it
// was converted, and as typed. A number alone is in the canonical unit.
//
// One decimal comma is taken for a point unless it could part thousands. A
// duration may come in parts (1h10m, 1:10:05), an angle as a compass point (NW).
// The error is a *ParseError that says what would be accepted.
func Parse(text string, canonical Unit) (value float64, as Typed, err error) {
	return ParseIn(text, canonical, Metric)
}

// ParseIn is Parse for a rider who prefers a system of units: a number alone is
// in that system's unit, miles for a distance where it is Imperial.
func ParseIn(text string, canonical Unit, prefer System) (value float64, as Typed, err error) {
	want := Accepts(canonical, prefer)
	if len(text) > longest || !utf8.ValidString(text) || strings.IndexFunc(text, unprintable) >= 0 {
		return 0, Typed{}, refuse(text, want)
	}
	s := tidy(text)
	if strings.Contains(s, "±") || strings.Contains(s, "+-") || strings.Contains(s, "+/-") {
		return 0, Typed{}, refuse(text, "want one number without a plus-minus")
	}
	if as, ok := special(s, canonical); ok {
		return as.canonical(), as, nil
	}
	if hint, ok := clockHint(s, canonical); ok {
		return 0, Typed{}, refuse(text, hint)
	}
	number, symbol := splitNumber(s)
	v, err := parseNumber(number)
	switch {
	case err == errComma:
		return 0, Typed{}, refuse(text, commaHint(number))
	case err != nil:
		return 0, Typed{}, refuse(text, want)
	}
	sp, err := unitFor(tidySymbol(symbol), canonical, prefer, text, want)
	if err != nil {
		return 0, Typed{}, err
	}
	as = Typed{Value: v, Symbol: sp.symbol, Unit: canonical, scale: sp.Scale, text: join(plain(v), sp.symbol)}
	if value = as.canonical(); !finite(value) {
		return 0, Typed{}, refuse(text, want)
	}
	return value, as, nil
}

// special reads what is not a number and a unit: durations in parts, compass
// points.
func special(s string, u Unit) (Typed, bool) {
	switch u {
	case Min, Second:
		return parseParts(s, u)
	case Degree:
		return parseCompass(s)
	}
	return Typed{}, false
}

// unitFor finds the unit that symbol stands for; the preferred one for "".
func unitFor(symbol string, u Unit, prefer System, text, want string) (spelling, error) {
	if symbol == "" {
		return usual(u, prefer), nil
	}
	sp, ok := find(symbol, u)
	switch {
	case ok && sp.vague:
		return sp, refuse(text, "want "+sp.symbol+" written out: it may be metres or miles")
	case ok:
		return sp, nil
	}
	if right, ok := caseHint(symbol, u); ok {
		return sp, refuse(text, "want "+right+": capital and small letters mean different units here")
	}
	return sp, refuse(text, want)
}

func (t Typed) canonical() float64 {
	if t.scale.mul == t.scale.div && t.scale.zero == 0 {
		return t.Value + 0 // also for Count, which has no scale
	}
	return round14(t.scale.To(t.Value))
}

// ParseList reads the rest volts of series groups and the like: numbers parted
// by spaces or semicolons, a unit behind the last one holding for all of them.
func ParseList(text string, canonical Unit) ([]float64, error) {
	const most = 4096
	want := "want numbers parted by spaces, " + strings.TrimPrefix(Accepts(canonical, Metric), "want a ")
	if len(text) > most || !utf8.ValidString(text) {
		return nil, refuse(text, want)
	}
	items := strings.FieldsFunc(tidy(text), func(r rune) bool { return r == ';' || r == ' ' })
	unit := ""
	if n := len(items); n > 0 {
		var number string
		if number, unit = splitNumber(items[n-1]); number == "" {
			items = items[:n-1]
		}
	}
	var list []float64
	for _, item := range items {
		number, own := splitNumber(strings.TrimSuffix(item, ","))
		if own == "" {
			own = unit
		}
		v, _, err := Parse(number+own, canonical)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	if len(list) == 0 {
		return nil, refuse(text, want)
	}
	return list, nil
}

func unprintable(r rune) bool { return unicode.IsControl(r) && r != '\t' }

// commaHint names the two numbers that a text such as 1,234 may mean.
func commaHint(number string) string {
	return "want " + strings.Replace(number, ",", ".", 1) + " or " + strings.Replace(number, ",", "", 1) +
		": the comma may part decimals or thousands"
}

var nouns = [...]string{
	None: "number", Km: "distance", Kmh: "speed", Kg: "mass", Kpa: "pressure", Celsius: "temperature", Min: "duration",
	Ah: "charge", Wh: "energy", Volt: "voltage", Ampere: "current", Mohm: "resistance", Millivolt: "voltage", Pct: "percentage",
	Metre: "height", Second: "duration", Days: "number of days", Degree: "direction", Count: "number", WhPerKm: "consumption",
}

// Accepts says in words what Parse takes for u and in what unit a number alone
// is: "want a distance in km, mi or metres; a number alone is in mi".
func Accepts(u Unit, prefer System) string {
	noun := "number"
	if int(u) < len(nouns) {
		noun = nouns[u]
	}
	article := "a "
	if noun == "energy" {
		article = "an "
	}
	var names []string
	for _, s := range spellingsOf(u) {
		if !s.rare && !s.vague {
			names = append(names, s.symbol)
		}
	}
	if len(names) == 0 {
		return "want " + article + noun + " without a unit"
	}
	extra := ""
	switch u {
	case Min:
		extra = " such as 1h10m"
	case Second:
		extra = " such as 1m30s"
	case Degree:
		extra = " or as a compass point"
	}
	return "want " + article + noun + " in " + prose.List(names, "or") + extra + "; a number alone is in " + usual(u, prefer).symbol
}
