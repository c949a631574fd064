// Package units turns what a rider types into the canonical units of the
// records ("9.5 mi" into kilometres, "yesterday 18:30" into a time) and figures
// back into text for people, rounded to what their interval supports.
//
// It is the only place that converts units. Everywhere else a quantity is in
// its canonical unit, which is part of its name. Texts for machines (JSON, CSV)
// are not written here.
//
// The package reads no clock and no environment: where now matters, the caller
// passes it, with the rider's time zone in it.
package units
