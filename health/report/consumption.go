package report

import (
	"math"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// Consumption is how the energy that a kilometre takes depends on the air
// temperature, all else at reference conditions. Both lists are empty where
// the log does not tell.
type Consumption struct {
	Curve []ConsumptionPoint `json:"curve"`
	Rides []ConsumptionRide  `json:"rides"`
}

// ConsumptionPoint is the consumption at one air temperature.
type ConsumptionPoint struct {
	AirC float64 `json:"air_c"`
	Estimate
}

// ConsumptionRide is one ride's consumption, brought to reference conditions
// in all but the air temperature.
type ConsumptionRide struct {
	Record  string    `json:"record"`
	At      time.Time `json:"at"`
	AirC    float64   `json:"air_c"`
	WhPerKm float64   `json:"wh_per_km"`
	Doubted bool      `json:"doubted"` // its way or energy was put aside as a misreading
}

// consumptionRides is how many rides are shown, the latest; a shorter one than
// consumptionLeastKm says more of its start and stops than of the air.
const (
	consumptionRides   = 600
	consumptionLeastKm = 2
	curvePoints        = 24
)

// ConsumptionOf reads the consumption over air temperature off a fit. The curve
// passes through consumption_wh_per_km at the reference temperature.
func ConsumptionOf(h *logbook.History, fit *model.Fit) *Consumption {
	out := &Consumption{Curve: []ConsumptionPoint{}, Rides: []ConsumptionRide{}}
	if !fit.Known().Road {
		return out
	}
	rides := metered(h)
	low, high := usualAir(h, fit)
	for _, r := range rides {
		low, high = min(low, r.AmbientC.V), max(high, r.AmbientC.V)
	}
	for i := range curvePoints + 1 {
		air := low + (high-low)*float64(i)/curvePoints
		e := estimate(fit.Go(model.Way{AirC: logbook.Some(air)}).WhPerKm)
		if e == nil {
			return &Consumption{Curve: []ConsumptionPoint{}, Rides: out.Rides}
		}
		out.Curve = append(out.Curve, ConsumptionPoint{tidy(air), *e})
	}
	aside := putAside(fit)
	for _, r := range rides {
		expected := model.Quantile(fit.Predict(r).WhPerKm, .5)
		if v := netWh(r) / r.DistanceKm.V / expected * out.value(r.AmbientC.V); v > 0 && !math.IsInf(v, 0) {
			out.Rides = append(out.Rides, ConsumptionRide{r.ID, r.At, r.AmbientC.V, tidy(v), aside.of(r, "distance_km", "discharged_wh")})
		}
	}
	return out
}

// value interpolates the middle of the curve.
func (c *Consumption) value(airC float64) float64 {
	low, high := c.Curve[0].AirC, c.Curve[len(c.Curve)-1].AirC
	x := min(max((airC-low)/(high-low), 0), 1) * float64(len(c.Curve)-1)
	i := min(int(x), len(c.Curve)-2)
	return c.Curve[i].Value + (x-float64(i))*(c.Curve[i+1].Value-c.Curve[i].Value)
}

// metered lists the latest rides whose energy, way and air are recorded.
func metered(h *logbook.History) []*logbook.Ride {
	var out []*logbook.Ride
	born := replacedAt(h)
	for _, r := range h.Rides {
		if r.DistanceKm.OK && r.DistanceKm.V >= consumptionLeastKm && r.AmbientC.OK && netWh(r) > 0 && !r.At.Before(born) {
			out = append(out, r)
		}
	}
	return out[max(0, len(out)-consumptionRides):]
}

// netWh is the energy that a ride took, 0 where it was not metered.
func netWh(r *logbook.Ride) float64 {
	if !r.DischargedWh.OK {
		return 0
	}
	return r.DischargedWh.V - r.RegenWh.Or(0)
}

// usualAir returns the coldest and the warmest usual air of the year, a little
// widened.
func usualAir(h *logbook.History, fit *model.Fit) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for month := range 12 {
		c, _ := fit.UsualAirC(monthsAhead(h.AsOf, month))
		low, high = min(low, c-3), max(high, c+3)
	}
	return max(low, -30), min(high, 50)
}
