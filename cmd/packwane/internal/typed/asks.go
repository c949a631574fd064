package typed

import "packwane/health/units"

// Ask is a quantity that an answer can be asked with: its unit, and between which
// bounds it is taken, in that unit. The bounds keep out what no light board or
// pack can mean, not what is rare. Common practice, no source.
type Ask struct {
	Unit      units.Unit
	Low, High float64
}

// What answers are asked with, by command line and page alike.
var (
	AskSpeed      = Ask{units.Kmh, 3, 100}
	AskAir        = Ask{units.Celsius, -30, 50}
	AskRider      = Ask{units.Kg, 15, 250}
	AskHeadwind   = Ask{units.Kmh, -80, 80} // + against
	AskTyre       = Ask{units.Kpa, 50, 1200}
	AskRestVolts  = Ask{units.Volt, .5, 1000} // of the pack
	AskRested     = Ask{units.Min, 0, 100000}
	AskUsedAh     = Ask{units.Ah, 0, 10000}
	AskUsedWh     = Ask{units.Wh, 0, 100000}
	AskOut        = Ask{units.Km, 0, 1000} // from home
	AskClimb      = Ask{units.Metre, 0, 5000}
	AskRisk       = Ask{units.Pct, .1, 50}
	AskDifference = Ask{units.Km, .01, 1000} // of two ranges
	AskTrackSpeed = Ask{units.Kmh, 0, 300}   // of a track's target, and of the wind
	AskBearing    = Ask{units.Degree, 0, 360}
)

// Takes reports whether v lies within the bounds.
func (a Ask) Takes(v float64) bool { return v >= a.Low && v <= a.High }

// Want says the bounds in the units of sys: "3 km/h to 100 km/h".
func (a Ask) Want(sys units.System) string {
	return units.Format(a.Low, a.Unit, sys) + " to " + units.Format(a.High, a.Unit, sys)
}
