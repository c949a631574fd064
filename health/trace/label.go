package trace

import (
	"strings"
	"unicode"

	"packwane/health/units"
)

// quantity is what kind of thing a column holds.
type quantity uint8

const (
	qNone quantity = iota
	qTime
	qDate
	qVoltage
	qCurrent
	qTemperature
	qSpeed
	qDistance
	qCharge
	qEnergy
	qState
	qChannel
	qOther // known, and of no use here: power, resistance, counts
)

// label is the header of a column taken apart.
type label struct {
	text     string   // as it stands in the file
	words    []string // lower case, without the unit
	unit     string   // as written; "" where there is none
	quantity quantity
}

// parseLabel takes a header apart: "Test Time / s", "U_batt [mV]", "amp_avg",
// "test_time_second", "Spannung in V".
func parseLabel(text, unitRow string) label {
	l := label{text: text}
	name, unit := splitUnit(strings.TrimSpace(text))
	if unit == "" && quantityOfUnit(trimBrackets(unitRow)) != qNone {
		unit = trimBrackets(unitRow)
	}
	l.words = wordsOf(name)
	byUnit := quantityOfUnit(unit)
	byWord := quantityOfWords(l.words)
	if byUnit == qNone {
		if n := len(l.words); n > 0 {
			last := l.words[n-1]
			q := quantityOfUnit(last)
			rest := quantityOfWords(l.words[:n-1])
			switch {
			case q == qNone || last[0] >= '0' && last[0] <= '9':
			case n == 1 && (byWord == qNone || byWord == q): // a column called "ms"
				unit, byUnit = last, q
			case n > 1 && (rest == qNone || rest == q || q == qTime && rest == qDate):
				l.words, unit, byUnit, byWord = l.words[:n-1], last, q, rest
			}
		}
	}
	switch {
	case byUnit == qNone && unit != "" && byWord == qNone:
		l.words = append(l.words, wordsOf(unit)...)
		l.quantity = quantityOfWords(l.words)
	case byUnit != qNone:
		l.unit, l.quantity = unit, byUnit
	default:
		l.quantity = byWord
	}
	if byWord == qDate && l.quantity == qTime && unit == "" {
		l.quantity = qDate
	}
	return l
}

// has reports whether one of the words stands in the label.
func (l label) has(words ...string) bool {
	for _, w := range l.words {
		for _, x := range words {
			if w == x {
				return true
			}
		}
	}
	return false
}

// splitUnit parts "name (unit)", "name [unit]", "name / unit", "name in unit".
func splitUnit(s string) (name, unit string) {
	for _, pair := range []string{"()", "[]", "{}", "<>"} {
		open := strings.LastIndexByte(s, pair[0])
		if open > 0 && strings.HasSuffix(s, pair[1:]) {
			return strings.TrimSpace(s[:open]), strings.TrimSpace(s[open+1 : len(s)-1])
		}
	}
	for _, mark := range []string{" / ", "/", " in ", ", ", ": "} {
		i := strings.Index(s, mark)
		if i <= 0 {
			continue
		}
		unit = strings.TrimSpace(s[i+len(mark):])
		if quantityOfUnit(unit) != qNone {
			return strings.TrimSpace(s[:i]), unit
		}
	}
	return s, ""
}

// wordsOf parts at everything that is no letter or digit, between a small and
// a capital letter, and between letters and digits: "UBatt1" is u, batt, 1.
func wordsOf(s string) []string {
	var words []string
	start := -1
	rs := []rune(s)
	cut := func(end int) {
		if start >= 0 {
			words = append(words, strings.ToLower(string(rs[start:end])))
		}
		start = -1
	}
	for i, r := range rs {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '°' && r != '%' {
			cut(i)
			continue
		}
		if start >= 0 {
			p := rs[i-1]
			humped := unicode.IsLower(p) && unicode.IsUpper(r) && i-start > 1
			if humped || unicode.IsDigit(p) != unicode.IsDigit(r) {
				cut(i)
			}
		}
		if start < 0 {
			start = i
		}
	}
	cut(len(rs))
	return words
}

// unitQuantities lists the dimensions in the order in which a unit is tried.
var unitQuantities = []struct {
	unit     units.Unit
	quantity quantity
}{
	{units.Second, qTime}, {units.Volt, qVoltage}, {units.Ampere, qCurrent}, {units.Celsius, qTemperature},
	{units.Kmh, qSpeed}, {units.Ah, qCharge}, {units.Wh, qEnergy}, {units.Mohm, qOther}, {units.Pct, qOther},
	{units.Kpa, qOther}, {units.Kg, qOther}, {units.Days, qTime}, {units.Km, qDistance},
}

func quantityOfUnit(unit string) quantity {
	switch strings.ToLower(unit) {
	case "":
		return qNone
	case "us", "µs", "μs", "usec", "microsecond", "microseconds", "ns", "nanosecond", "nanoseconds", "millis", "msec", "days":
		return qTime
	case "m":
		return qDistance // metres of way, in a header
	case "w", "kw", "mw", "watt", "watts", "va", "1", "rpm", "hz", "g", "as", "coulomb", "v/s", "a/s", "c-rate", "count":
		return qOther
	}
	for _, u := range unitQuantities {
		if _, ok := scaleOf(unit, u.unit); ok {
			return u.quantity
		}
	}
	return qNone
}

// scaleOf is units.ScaleOf for headers, where a file may write all letters
// small: "ma" and "mv" are never mega here.
func scaleOf(unit string, canonical units.Unit) (units.Scale, bool) {
	if s, ok := units.ScaleOf(unit, canonical); ok {
		return s, true
	}
	return units.ScaleOf(strings.ToLower(unit), canonical)
}

// wordQuantities says what a word of a header stands for, in the tongues in
// which decimal commas are common too.
var wordQuantities = map[string]quantity{
	"voltage": qVoltage, "volt": qVoltage, "volts": qVoltage, "v": qVoltage, "u": qVoltage, "spannung": qVoltage,
	"tension": qVoltage, "voltaje": qVoltage, "tensione": qVoltage, "spanning": qVoltage, "potential": qVoltage,
	"vbat": qVoltage, "vbatt": qVoltage, "vpack": qVoltage, "ubat": qVoltage, "ubatt": qVoltage, "upack": qVoltage, "mv": qVoltage, "millivolt": qVoltage,
	"current": qCurrent, "amp": qCurrent, "amps": qCurrent, "ampere": qCurrent, "amperes": qCurrent, "amperage": qCurrent, "i": qCurrent,
	"strom": qCurrent, "courant": qCurrent, "corriente": qCurrent, "corrente": qCurrent, "stroom": qCurrent, "intensity": qCurrent, "intensité": qCurrent,
	"ibat": qCurrent, "ibatt": qCurrent, "ipack": qCurrent, "a": qCurrent, "ma": qCurrent, "milliampere": qCurrent,
	"time": qTime, "t": qTime, "timestamp": qTime, "datetime": qTime, "zeit": qTime, "uhrzeit": qTime, "temps": qTime, "tiempo": qTime, "hora": qTime,
	"tempo": qTime, "tijd": qTime, "elapsed": qTime, "epoch": qTime, "unixtime": qTime, "unix": qTime, "millis": qTime, "seconds": qTime, "sec": qTime, "clock": qTime, "ms": qTime,
	"date": qDate, "datum": qDate, "fecha": qDate,
	"temp": qTemperature, "temperature": qTemperature, "temperatur": qTemperature, "température": qTemperature, "temperatura": qTemperature, "celsius": qTemperature,
	"speed": qSpeed, "velocity": qSpeed, "geschwindigkeit": qSpeed, "vitesse": qSpeed, "velocidad": qSpeed, "kmh": qSpeed, "mph": qSpeed,
	"distance": qDistance, "odometer": qDistance, "odo": qDistance, "trip": qDistance, "mileage": qDistance, "strecke": qDistance, "weg": qDistance, "distancia": qDistance,
	"capacity": qCharge, "ah": qCharge, "mah": qCharge, "kapazität": qCharge, "ladung": qCharge, "capacité": qCharge,
	"energy": qEnergy, "wh": qEnergy, "energie": qEnergy, "énergie": qEnergy, "energía": qEnergy,
	"state": qState, "status": qState, "mode": qState, "phase": qState, "zustand": qState, "modus": qState, "état": qState, "estado": qState,
	"channel": qChannel, "chan": qChannel, "ch": qChannel, "kanal": qChannel, "canal": qChannel, "voie": qChannel,
	"power": qOther, "watt": qOther, "watts": qOther, "resistance": qOther, "ir": qOther, "dcir": qOther, "esr": qOther, "soc": qOther, "soh": qOther, "pwm": qOther, "duty": qOther,
}

// strength orders the quantities where several words of one header stand for
// some: "charge current time" is a time.
var strength = [...]int{qNone: 0, qState: 1, qChannel: 1, qCharge: 2, qEnergy: 2, qDistance: 3, qSpeed: 4, qVoltage: 5, qCurrent: 5, qTemperature: 6, qDate: 7, qTime: 8, qOther: 9}

func quantityOfWords(words []string) quantity {
	best := qNone
	for _, w := range words {
		q, ok := wordQuantities[w]
		if !ok {
			q = quantityInside(w)
		}
		if len(w) == 1 && len(words) > 2 && best != qNone {
			continue // a letter beside a full word is an index
		}
		if strength[q] > strength[best] {
			best = q
		}
	}
	return best
}

// quantityInside looks for a word written together with another: packvoltage.
func quantityInside(w string) quantity {
	for _, in := range []struct {
		part string
		q    quantity
	}{{"voltage", qVoltage}, {"spannung", qVoltage}, {"current", qCurrent}, {"strom", qCurrent}, {"temperatur", qTemperature}, {"geschwindigkeit", qSpeed}, {"timestamp", qTime}, {"resistance", qOther}, {"power", qOther}} {
		if len(w) > len(in.part) && strings.Contains(w, in.part) {
			return in.q
		}
	}
	return qNone
}

// trimBrackets takes "(V)" and "[V]" to "V".
func trimBrackets(s string) string { return strings.Trim(s, "()[]{} ") }
