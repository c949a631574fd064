package trace

import (
	"fmt"
	"sort"
	"strconv"
	"strings"

	"packwane/health/units"
)

// Role is what a column of a time series is read as.
type Role uint8

// The roles. Time, voltage and a current are needed; the rest is used where it
// is there.
const (
	Time             Role = iota // of the row, in any of the forms of the package
	StartClock                   // dates beside a running time: only where the file begins
	Date                         // the date alone, beside a time of day
	Voltage                      // of the pack
	Current                      // of the pack
	ChargeCurrent                // where charging and
	DischargeCurrent             // discharging have a column each, without signs
	State                        // in words: charging, discharging
	Channel                      // rows of several channels
	PackTemp
	Ambient
	Speed
	Odometer
	ChargedCount // the file's own counters, to compare with
	DischargedCount
	NetCount
	ChargedEnergy
	DischargedEnergy
	NetEnergy
	Groups // voltages of the series groups: several columns
	numRoles
)

var roleNames = [numRoles]string{
	"time", "start_clock", "date", "voltage", "current", "charge_current", "discharge_current", "state", "channel",
	"pack_temp", "ambient", "speed", "odometer",
	"charged_ah", "discharged_ah", "net_ah", "charged_wh", "discharged_wh", "net_wh", "groups",
}

// String returns the name under which the role stands in a map.
func (r Role) String() string {
	if r < numRoles {
		return roleNames[r]
	}
	return "role(" + strconv.Itoa(int(r)) + ")"
}

// unitOfRole is the dimension of a numeric role; units.None for the others.
var unitOfRole = [numRoles]units.Unit{
	Time: units.Second, Voltage: units.Volt, Current: units.Ampere, ChargeCurrent: units.Ampere, DischargeCurrent: units.Ampere,
	PackTemp: units.Celsius, Ambient: units.Celsius, Speed: units.Kmh, Odometer: units.Km,
	ChargedCount: units.Ah, DischargedCount: units.Ah, NetCount: units.Ah,
	ChargedEnergy: units.Wh, DischargedEnergy: units.Wh, NetEnergy: units.Wh, Groups: units.Volt,
}

// Mapping says which columns of a file are what. The zero Mapping leaves
// everything to the proposal. Its text form, which ParseMapping reads and
// String writes, is a list of key=value parted by commas:
//
//	current="I batt",current_unit=mA,sign=-,voltage=#3,dates=dmy,channel="Kanal=2"
//
// A column is named by its header or, with #, by its number from 1. Groups are
// several columns parted by |.
type Mapping struct {
	columns [numRoles]string // header or "#3"; "" where not mapped
	units   [numRoles]string // overrides the unit of the header; "" where not given
	channel string           // text of the channel column, or part of the header, that is read
	sign    Sign
	dates   dateOrder
	delim   string // "" where not given; "comma", "semicolon", "tab", "bar", "space"
	point   byte   // 0 where not given
}

// Sign says what a positive current does.
type Sign int8

// The signs of current. The zero value asks the voltage.
const (
	SignAuto           Sign = 0
	PositiveCharges    Sign = 1
	PositiveDischarges Sign = -1
)

var delimNames = map[string]byte{"comma": ',', "semicolon": ';', "tab": '\t', "bar": '|', "space": ' '}

var orderNames = map[string]dateOrder{"ymd": orderYMD, "dmy": orderDMY, "mdy": orderMDY}

// ParseMapping reads the text form of a Mapping. The error names the part that
// is wrong and what would be accepted (a *MapError).
func ParseMapping(text string) (Mapping, error) {
	var m Mapping
	for rest := strings.TrimSpace(text); rest != ""; {
		key, after, ok := strings.Cut(rest, "=")
		if !ok {
			return m, mapErrorf("map %q: want key=value, such as current=\"I batt\"", clip(rest))
		}
		value, next, err := mapValue(after)
		if err != nil {
			return m, mapErrorf("map %s: %v", strings.TrimSpace(key), err)
		}
		if err := m.set(strings.TrimSpace(key), value); err != nil {
			return m, err
		}
		rest = next
	}
	return m, nil
}

// mapValue takes one value, quoted or not, off the front of a map.
func mapValue(s string) (value, rest string, err error) {
	s = strings.TrimLeft(s, " ")
	if strings.HasPrefix(s, `"`) {
		q, err := strconv.QuotedPrefix(s)
		if err != nil {
			return "", "", fmt.Errorf("%s: want a closing quote", clip(s))
		}
		value, err := strconv.Unquote(q)
		if err != nil {
			return "", "", fmt.Errorf("%s: want plain text in quotes", clip(q))
		}
		rest = strings.TrimLeft(s[len(q):], " ")
		if rest != "" && rest[0] != ',' {
			return "", "", fmt.Errorf("%q: want a comma behind the closing quote", clip(rest))
		}
		return value, strings.TrimLeft(strings.TrimPrefix(rest, ","), " "), nil
	}
	value, rest, _ = strings.Cut(s, ",")
	return strings.TrimSpace(value), strings.TrimLeft(rest, " "), nil
}

// set takes one pair of a map.
func (m *Mapping) set(key, value string) error {
	refuse := func(want string) error { return refuseValue(key, value, want) }
	if value == "" {
		return refuse("a value")
	}
	switch key {
	case "sign":
		switch value {
		case "+":
			m.sign = PositiveCharges
		case "-":
			m.sign = PositiveDischarges
		case "auto":
			m.sign = SignAuto
		default:
			return refuse("+ (positive current charges), - (it discharges) or auto")
		}
		return nil
	case "dates":
		o, ok := orderNames[value]
		if !ok {
			return refuse("ymd, dmy or mdy")
		}
		m.dates = o
		return nil
	case "delimiter":
		if _, ok := delimNames[value]; !ok {
			return refuse("comma, semicolon, tab, bar or space")
		}
		m.delim = value
		return nil
	case "decimal":
		switch value {
		case "point":
			m.point = '.'
		case "comma":
			m.point = ','
		default:
			return refuse("point or comma")
		}
		return nil
	case "channel":
		if column, text, ok := strings.Cut(value, "="); ok && column != "" && text != "" {
			m.columns[Channel], m.channel = column, text
			return nil
		}
		m.channel = value
		return nil
	}
	return m.setRole(key, value)
}

// setRole takes the column of a role, or with _unit behind its name the unit that
// it is in.
func (m *Mapping) setRole(key, value string) error {
	name, isUnit := strings.CutSuffix(key, "_unit")
	for r := Role(0); r < numRoles; r++ {
		if roleNames[r] != name || r == Channel {
			continue
		}
		if !isUnit {
			m.columns[r] = value
			return nil
		}
		if !unitFits(r, value) {
			return refuseValue(key, value, "a unit of "+name)
		}
		m.units[r] = value
		return nil
	}
	return mapErrorf("map %q: want one of %s, or one of those with _unit, or sign, channel, dates, delimiter, decimal", clip(key), strings.Join(roleNames[:], ", "))
}

func refuseValue(key, value, want string) error {
	return mapErrorf("map %s=%q: want %s", key, clip(value), want)
}

func unitFits(r Role, unit string) bool {
	_, ok := affineOf(r, unit)
	return ok && unitOfRole[r] != units.None
}

// String writes m in the form that ParseMapping reads, keys in a fixed order.
func (m Mapping) String() string {
	var parts []string
	add := func(key, value string) {
		if value == "" {
			return
		}
		if strings.ContainsAny(value, ",\"\\ ") || !isPrint(value) {
			value = strconv.Quote(value)
		}
		parts = append(parts, key+"="+value)
	}
	for r := Role(0); r < numRoles; r++ {
		if r != Channel {
			add(roleNames[r], m.columns[r])
			add(roleNames[r]+"_unit", m.units[r])
		}
	}
	if m.columns[Channel] != "" {
		add("channel", m.columns[Channel]+"="+m.channel)
	} else {
		add("channel", m.channel)
	}
	add("sign", map[Sign]string{PositiveCharges: "+", PositiveDischarges: "-"}[m.sign])
	add("dates", map[dateOrder]string{orderYMD: "ymd", orderDMY: "dmy", orderMDY: "mdy"}[m.dates])
	add("delimiter", m.delim)
	add("decimal", map[byte]string{'.': "point", ',': "comma"}[m.point])
	return strings.Join(parts, ",")
}

func isPrint(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return !strconv.IsPrint(r) }) < 0
}

// With returns m with everything that over says in place of what m says: a map
// kept for a pack, and above it the flags of one call.
func (m Mapping) With(over Mapping) Mapping {
	for r := range m.columns {
		if over.columns[r] != "" {
			m.columns[r], m.units[r] = over.columns[r], ""
		}
		if over.units[r] != "" {
			m.units[r] = over.units[r]
		}
	}
	if over.columns[Current] != "" {
		m.columns[ChargeCurrent], m.columns[DischargeCurrent] = over.columns[ChargeCurrent], over.columns[DischargeCurrent]
	}
	if over.channel != "" {
		m.channel = over.channel
	}
	if over.sign != SignAuto {
		m.sign = over.sign
	}
	if over.dates != orderUnknown {
		m.dates = over.dates
	}
	if over.delim != "" {
		m.delim = over.delim
	}
	if over.point != 0 {
		m.point = over.point
	}
	return m
}

// Keys returns every key that a map knows, sorted, for help and completion.
func Keys() []string {
	keys := []string{"sign", "channel", "dates", "delimiter", "decimal"}
	for r := Role(0); r < numRoles; r++ {
		if r == Channel {
			continue
		}
		keys = append(keys, roleNames[r])
		if unitOfRole[r] != units.None {
			keys = append(keys, roleNames[r]+"_unit")
		}
	}
	sort.Strings(keys)
	return keys
}
