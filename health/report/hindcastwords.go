package report

import (
	"math"
	"time"

	"packwane/health/units"
)

// Unit is the unit of what was forecast.
func (f Forecast) Unit() units.Unit {
	switch f.Quantity {
	case "distance_km":
		return units.Km
	case "discharged_ah":
		return units.Ah
	}
	return units.Mohm
}

// Within reports whether what came lies within the bounds of the forecast.
func (f Forecast) Within() bool { return f.Forecast.Holds(f.Came) }

// ErrorPct is how far the forecast was off, percent of what came.
func (f Forecast) ErrorPct() float64 { return 100 * math.Abs(f.Forecast.Value/f.Came-1) }

// Day writes the date of a time of a report, RFC 3339, for people; a text that is
// no such time stays as it is.
func Day(text string) string {
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return text
	}
	return units.FormatDate(t)
}

// TwoFigures keeps two figures of v, which is what an error or a scatter is worth.
func TwoFigures(v float64) float64 {
	if v == 0 {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-1)
	return math.Round(v/p) * p
}
