package report

import (
	"math"
	"slices"
	"strings"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// nearK is how near a temperature must come to that of its days, as one in the other
// unit, to be told as such. Common practice, no source.
const nearK = 9

// odd files the conditions that lie so far from those of the log that the fit takes
// them as not known, where a unit or a factor leads to what is usual. Without such a
// reason they may be as they are: a day in the hills, a ride with a child.
func (a *audit) odd() {
	if a.fit == nil {
		return
	}
	for _, o := range a.fit.Oddities() {
		if !a.told(o.Record, o.Field) {
			a.oddity(o)
		}
	}
}

func (a *audit) oddity(o model.Oddity) {
	f, _ := logbook.FieldNamed(o.Record.Kind(), o.Field)
	usual := rough{o.Usual, f.Unit}
	text := say(named(o.Field), " is ", exact(o.Figure, f.Unit), " where about ", usual, " is usual in this log: it is taken as not known")
	if f.Unit == units.Celsius {
		if c := celsius(o.Figure); math.Abs(c-o.Usual) < nearK {
			a.addTemperature(o.Record, o.Field, codeFahrenheit, append(text, "; degrees Fahrenheit may have been typed as Celsius"), c)
		} else if c := o.Figure*1.8 + 32; math.Abs(c-o.Usual) < nearK {
			a.addTemperature(o.Record, o.Field, codeCelsius, append(text, "; degrees Celsius may have been typed as Fahrenheit"), c)
		}
		return
	}
	if varies(o.Field) {
		return
	}
	if k := a.explain(o.Field, o.Figure, o.Usual, nearSds); k != nil {
		a.add(o.Record, o.Field, k.code, append(text, "; "+k.what), say("where it is not as it was, ", k.mend(o.Record, f, k.meant(a, o.Figure))))
	}
}

// varies reports whether a condition may well be ten times the usual one: hills and
// storms are.
func varies(field string) bool {
	return strings.HasPrefix(field, "climb") || strings.HasPrefix(field, "descent") || strings.Contains(field, "wind")
}

func celsius(fahrenheit float64) float64 { return (fahrenheit - 32) / 1.8 }

// addTemperature files a temperature that may have been typed in another unit. One at
// which cells are harmed is a matter of safety where it is right, and nobody is to be
// talked out of it.
func (a *audit) addTemperature(r logbook.Record, field, code string, text phrase, c float64) {
	f, _ := logbook.FieldNamed(r.Kind(), field)
	advice := "where it is not as it was, "
	if v := f.Number(r).V; field == "pack_c" || r.Kind() == logbook.KindCharge && (v < chargeColdC || v > chargeHotC) {
		advice = "where it is right, leave it and have the pack inspected before it is used; where it was mistyped, "
	}
	a.add(r, field, code, text, say(advice+amend(r, field, shortNumber(c))))
}

// stored looks for rides of a pack that was to be stored then, the days of going
// in and of coming out left out: it was taken out early, or they are another's.
func (a *audit) stored() {
	const day = 24 * time.Hour
	for _, s := range a.h.Services {
		if s.What != "storage" || s.Pack != a.h.Pack.ID || s.Until.IsZero() {
			continue
		}
		i := slices.IndexFunc(a.h.Rides, func(r *logbook.Ride) bool {
			return r.At.After(s.At.Add(day)) && r.At.Before(s.Until.Add(-day))
		})
		if i < 0 {
			continue
		}
		r := a.h.Rides[i]
		a.add(s, "until", codeStored,
			say("the pack was to be stored until "+a.h.Day(s.Until)+", and was ridden on "+a.h.Day(r.At)+" ("+r.ID+")"),
			say("if another pack was ridden, amend that ride; if this one was taken out before, say when: packwane amend "+s.ID+" until="+logbook.FormatTime(r.At)))
	}
}
