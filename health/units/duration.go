package units

import (
	"math"
	"strconv"
	"strings"
)

// parseParts reads a duration of two or more parts, largest first: 1h10m,
// "1 h 10 min", 1h10, 1d 4h, 1m30s, 1:10:05. Only the last part may have
// decimals, and all but the first stay below 60 (hours below 24). None needs an exponent to be written. A duration of
// one part is left to Parse, which knows every unit.
func parseParts(s string, u Unit) (Typed, bool) {
	seconds, text, ok := clockParts(s)
	if !ok {
		seconds, text, ok = namedParts(s)
	}
	if !ok {
		return Typed{}, false
	}
	t := Typed{Value: seconds, Symbol: u.String(), Unit: u, scale: times(1), text: text, parts: true}
	if u == Min {
		t.Value = round14(seconds / 60)
	}
	return t, true
}

// clockParts reads h:mm:ss. Two parts alone are not read: they may be hours and
// minutes or minutes and seconds.
func clockParts(s string) (seconds float64, text string, ok bool) {
	f := strings.Split(s, ":")
	if len(f) != 3 || len(f[0]) == 0 || len(f[0]) > 4 || len(f[1]) != 2 || len(f[2]) != 2 {
		return 0, "", false
	}
	for i, part := range f {
		if leadingDigits(part) != len(part) {
			return 0, "", false
		}
		n, _ := strconv.Atoi(part)
		if i > 0 && n >= 60 {
			return 0, "", false
		}
		seconds = seconds*60 + float64(n)
	}
	return seconds, s, true
}

// clockHint says how to write either of the durations that a text such as 1:10 may mean.
func clockHint(s string, canonical Unit) (string, bool) {
	if canonical != Min && canonical != Second {
		return "", false
	}
	seconds, _, ok := clockParts(s + ":00")
	if !ok || seconds == 0 {
		return "", false
	}
	longer, shorter := formatMinutes(seconds/60), formatMinutes(seconds/3600)
	squeeze := strings.NewReplacer(" ", "").Replace
	return "want " + squeeze(longer) + " or " + squeeze(shorter) + ": this may be hours and minutes, or minutes and seconds", true
}

type part struct {
	symbol  string
	seconds float64 // in one
	below   float64 // what it must stay below behind a larger part
}

var durationParts = [...]part{{"d", 86400, 0}, {"h", 3600, 24}, {"min", 60, 60}, {"s", 1, 60}}

func namedParts(s string) (seconds float64, text string, ok bool) {
	var words []string
	last := -1
	for rest := s; rest != ""; {
		number, tail := splitNumber(rest)
		i, after := durationPart(tail, last)
		n, err := parseNumber(number)
		if err != nil || i <= last || n < 0 || n > 0 && n < everydayLeast || n >= everydayMost || strings.ContainsAny(number, "-+eE") {
			return 0, "", false
		}
		p := durationParts[i]
		if last >= 0 && n >= p.below || after != "" && n != math.Trunc(n) {
			return 0, "", false
		}
		seconds += n * p.seconds
		words = append(words, plain(n)+" "+p.symbol)
		last, rest = i, after
	}
	return seconds, strings.Join(words, " "), len(words) > 1 && finite(seconds)
}

// durationPart reads the unit at the start of s and returns its place in
// durationParts, -1 where there is none, and what follows it. A number at the
// very end, behind hours, is in minutes.
func durationPart(s string, last int) (int, string) {
	n := 0
	for n < len(s) && (s[n] >= 'a' && s[n] <= 'z' || s[n] >= 'A' && s[n] <= 'Z') {
		n++
	}
	name, after := s[:n], strings.TrimSpace(s[n:])
	if s == "" && last == 1 {
		return 2, ""
	}
	sp, ok := find(name, Min)
	for i, p := range durationParts {
		if ok && p.symbol == sp.symbol {
			return i, after
		}
	}
	return -1, ""
}

var compass = [...]string{"N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"}

// parseCompass reads one of the sixteen compass points, 22.5° apart.
func parseCompass(s string) (Typed, bool) {
	for i, name := range compass {
		if strings.EqualFold(s, name) {
			return Typed{Value: float64(i) * 22.5, Symbol: "°", Unit: Degree, scale: times(1), text: name}, true
		}
	}
	return Typed{}, false
}

// formatMinutes writes a duration for people, rounded to what its length makes
// worth telling: seconds below ten minutes, minutes below two days, then hours.
// A negative one is in minutes alone.
func formatMinutes(minutes float64) string {
	seconds := minutes * 60
	switch {
	case seconds < 0 || math.Round(seconds/3600)*3600 >= everydayMost:
		return join(significant(minutes), "min")
	case seconds == 0:
		return "0 min"
	case seconds < 1:
		return join(significant(seconds), "s")
	case math.Round(seconds) < 600:
		return writeParts(math.Round(seconds))
	case math.Round(seconds/60)*60 < 2*86400:
		return writeParts(math.Round(seconds/60) * 60)
	}
	return writeParts(math.Round(seconds/3600) * 3600)
}

// writeParts writes whole seconds as the parts that are not zero.
func writeParts(seconds float64) string {
	var words []string
	days := seconds >= 2*86400
	for _, p := range durationParts {
		if p.symbol == "d" && !days {
			continue // 30 h says more than 1 d 6 h
		}
		n := math.Floor(seconds / p.seconds)
		seconds -= n * p.seconds
		if n > 0 {
			words = append(words, plain(n)+" "+p.symbol)
		}
	}
	return strings.Join(words, " ")
}
