package report

import (
	"math"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// nearK is how near a temperature must come to that of its days, as one in the other
// unit, to be told as such. Common practice, no source.
const nearK = 9

// odd files the conditions that lie so far from those of the log that the fit takes
// them as not known, unless something was said of them already.
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
	var usual any = exact(o.Usual, f.Unit)
	if f.Unit == units.Celsius {
		usual = degrees(o.Usual)
	}
	text := say(named(o.Field), " is ", exact(o.Figure, f.Unit), " where ", usual, " is usual in this log: it is taken as not known")
	if f.Unit == units.Celsius {
		if c := (o.Figure - 32) / 1.8; math.Abs(c-o.Usual) < nearK {
			a.add(o.Record, o.Field, codeFahrenheit, append(text, "; degrees Fahrenheit may have been typed as Celsius"), say("if so, "+amend(o.Record, o.Field, shortNumber(c))))
			return
		}
		if c := o.Figure*1.8 + 32; math.Abs(c-o.Usual) < nearK {
			a.add(o.Record, o.Field, codeCelsius, append(text, "; degrees Celsius may have been typed as Fahrenheit"), say("if so, "+amend(o.Record, o.Field, shortNumber(c))))
			return
		}
	}
	if k := a.explain(o.Field, o.Figure, o.Usual, nearSds); k != nil {
		a.add(o.Record, o.Field, k.code, append(text, "; "+k.what), say("if so, ", k.mend(o.Record, f, k.meant(a, o.Figure))))
		return
	}
	a.add(o.Record, o.Field, codeUnlike, text, say("put it right or take it out: "+amend(o.Record, o.Field, "")))
}
