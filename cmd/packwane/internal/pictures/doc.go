// Package pictures turns reports into pictures: it picks what a report shows,
// in the rider's units and words, and leaves the drawing to charts. The command
// line and the web page share it.
package pictures

import (
	"slices"
	"time"

	"packwane/charts"
	"packwane/health/report"
	"packwane/health/units"
)

// The kinds of pictures, by the names that a call uses.
const (
	Capacity    = "capacity"
	Resistance  = "resistance"
	Range       = "range"
	Consumption = "consumption"
	RoundTrip   = "round-trip"
	Standby     = "standby"
	Sheet       = "sheet" // all of them on one
)

// Comparison is how a document names the picture of a comparison (see Compared).
const Comparison = "compare"

// titles are the titles of the kinds, without the pack.
var titles = map[string]string{
	Capacity: "Capacity", Resistance: "Resistance", Range: "Range", Consumption: "Consumption over temperature", RoundTrip: "Round trip", Standby: "Lost at rest",
}

// Title is the title of a kind without the pack; "" for the sheet, which has none
// of its own.
func Title(kind string) string { return titles[kind] }

// Kinds lists the kinds, the sheet first.
var Kinds = []string{Sheet, Capacity, Resistance, Range, Consumption, RoundTrip, Standby}

// Of is what the pictures of one pack are made of.
type Of struct {
	Course      *report.Course
	Consumption *report.Consumption
	Losses      *report.Losses // nil: none
	System      units.System
	Zone        *time.Location // of the dates
}

// Picture returns the picture of a kind, with the pack's name in its title. It
// panics on a kind that is not one of Kinds.
func (o Of) Picture(kind string) charts.Picture {
	if kind == Sheet {
		return o.sheet()
	}
	f := o.figure(kind)
	f.Title += ": " + o.Course.Name
	return f
}

func (o Of) figure(kind string) charts.Figure {
	var f charts.Figure
	switch kind {
	case Capacity:
		f = o.capacity()
	case Resistance:
		f = o.resistance()
	case Range:
		f = o.rangeAhead()
	case Consumption:
		f = o.consumption()
	case RoundTrip:
		f = o.roundTrip()
	case Standby:
		f = o.standby()
	default:
		panic("pictures: no such kind: " + kind)
	}
	f.Title = titles[kind]
	holdAxis(&f)
	return f
}

// Kinds lists the kinds that the pack has, but for the sheet, the range first. A
// pack without a road has no range and no consumption.
func (o Of) Kinds() []string {
	if o.Course.Bench {
		return []string{Capacity, Resistance, RoundTrip, Standby}
	}
	return []string{Range, Capacity, Resistance, Consumption, RoundTrip, Standby}
}

// Shown is Picture for one of Kinds, nil for any other.
func (o Of) Shown(kind string) charts.Picture {
	if !slices.Contains(o.Kinds(), kind) {
		return nil
	}
	return o.Picture(kind)
}

// sheet puts every picture on one.
func (o Of) sheet() charts.Sheet {
	s := charts.Sheet{Title: o.Course.Name, Note: "As of " + units.FormatDate(o.Course.AsOf.In(o.zone())) + ". " + sheetNote}
	for _, kind := range o.Kinds() {
		s.Pictures = append(s.Pictures, o.figure(kind))
	}
	return s
}

const sheetNote = "Measurements are brought to reference conditions, losses are as logged; bands hold 90 %."

func (o Of) zone() *time.Location {
	if o.Zone == nil {
		return time.UTC
	}
	return o.Zone
}
