package units

import "strconv"

// Unit is the canonical unit of a quantity in the records: one per dimension.
type Unit uint8

// The canonical units. None is for what has no unit and is not a number.
const (
	None Unit = iota
	Km
	Kmh
	Kg
	Kpa // gauge pressure
	Celsius
	Min
	Ah
	Wh
	Volt
	Ampere
	Mohm
	Millivolt
	Pct
	Metre
	Second
	Days
	Degree // of angle
	Count
	WhPerKm // consumption; no record field has it, reports do
)

// All lists every unit but None.
var All = [...]Unit{Km, Kmh, Kg, Kpa, Celsius, Min, Ah, Wh, Volt, Ampere, Mohm, Millivolt, Pct, Metre, Second, Days, Degree, Count, WhPerKm}

var symbols = [...]string{"", "km", "km/h", "kg", "kPa", "°C", "min", "Ah", "Wh", "V", "A", "mΩ", "mV", "%", "m", "s", "days", "°", "", "Wh/km"}

// String returns the symbol of u: "km/h", "mΩ"; "" for None and Count.
func (u Unit) String() string {
	if int(u) < len(symbols) {
		return symbols[u]
	}
	return "unit(" + strconv.Itoa(int(u)) + ")"
}
