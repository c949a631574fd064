package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"packwane/health/law"
	"packwane/health/logbook"
	"packwane/health/model"
)

// partner is what a record's own other figures tell of a field: Wh by Ah and
// Ah by Wh at the pack's nominal volts, a distance by its route or its energy,
// an odometer by the readings around; 0 where they do not, or where what would
// tell was put aside itself.
func (a *audit) partner(r logbook.Record, field string) float64 {
	id := logbook.HeadOf(r).ID
	ride, isRide := r.(*logbook.Ride)
	switch {
	case isRide && field == "odometer_km":
		return a.odometer[id]
	case isRide && field == "distance_km":
		if km := a.routeKm(ride); km > 0 {
			return km
		}
		if a.aside.of(r, "discharged_wh") && !agree(ride.DischargedWh.V, a.crossed(r, "discharged_wh")) {
			return 0
		}
		return over(ride.DischargedWh.V-ride.RegenWh.Or(0), a.whPerKm(ride))
	case !counted(field):
		return 0
	}
	other := strings.TrimSuffix(field, "_ah") + "_wh"
	if strings.HasSuffix(field, "_wh") {
		other = strings.TrimSuffix(field, "_wh") + "_ah"
	}
	if f, ok := logbook.FieldNamed(r.Kind(), other); ok && a.beyondPack(other, f.Number(r)) || a.aside.of(r, other) {
		return 0
	}
	return a.crossed(r, field)
}

// crossed is what the Ah of a record tell of its Wh, and the other way round.
func (a *audit) crossed(r logbook.Record, field string) float64 {
	volts := a.packV()
	switch r := r.(type) {
	case *logbook.Charge:
		volts *= chargeOverNominal
		switch {
		case r.MeterSide == "ac":
		case field == "charged_wh":
			return r.ChargedAh.V * volts
		case field == "charged_ah":
			return over(r.ChargedWh.V, volts)
		}
	case *logbook.Ride:
		switch field {
		case "discharged_wh":
			return r.DischargedAh.V * volts
		case "discharged_ah":
			return over(r.DischargedWh.V, volts)
		}
	}
	return 0
}

// routeKm is the length of the ride's route by the other rides on it, where
// they agree; 0 where they do not tell.
func (a *audit) routeKm(r *logbook.Ride) float64 {
	if r.Route == "" {
		return 0
	}
	var km []float64
	for _, o := range a.h.Rides {
		if o != r && o.Route == r.Route && o.DistanceKm.V > 0 {
			km = append(km, o.DistanceKm.V)
		}
	}
	const few = 4
	if len(km) < few {
		return 0
	}
	mid := middle(km)
	near := 0
	for _, v := range km {
		if math.Abs(v/mid-1) < .05 {
			near++
		}
	}
	if near*4 < len(km)*3 {
		return 0
	}
	return mid
}

// chargeOverNominal is how far the volts while charging lie above the nominal
// ones. Common practice, no source.
const chargeOverNominal = 1.05

// whPerKm is the consumption that the model expects of a ride; 0 where it
// cannot say.
func (a *audit) whPerKm(r *logbook.Ride) float64 {
	if a.fit == nil || !a.fit.Known().Road {
		return 0
	}
	v := model.Quantile(a.fit.Predict(r).WhPerKm, .5)
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// The mean volts of a cell that Wh over Ah must lie between; beyond it one of
// the two is wrong. Common practice, no source.
const (
	leastMeanShare = .75 // of the nominal volts
	mostMeanShare  = 1.3
	farConsumption = 4. // times the usual Wh/km, either way
	sameRoute      = .1 // of the route's length: the way that it says
)

// partners holds Ah against Wh, and energy against distance, in every record.
func (a *audit) partners() {
	volts := a.packV()
	for _, c := range a.h.Charges {
		if c.MeterSide != "ac" {
			a.meanVolts(c, "charged_ah", "charged_wh", c.ChargedAh, c.ChargedWh, volts*chargeOverNominal)
		}
	}
	var usual []float64
	for _, r := range a.h.Rides {
		a.meanVolts(r, "discharged_ah", "discharged_wh", r.DischargedAh, r.DischargedWh, volts)
		if net := r.DischargedWh.V - r.RegenWh.Or(0); net > 0 && r.DistanceKm.V > 0 {
			usual = append(usual, net/r.DistanceKm.V)
		}
	}
	if len(usual) < 5 {
		return
	}
	mid := middle(usual)
	for _, r := range a.h.Rides {
		net := r.DischargedWh.V - r.RegenWh.Or(0)
		if net <= 0 || r.DistanceKm.V <= 0 || r.RegenWh.OK && r.RegenWh.V > net || a.told(r, "distance_km") || a.told(r, "discharged_wh") {
			continue
		}
		far := func(usual float64) bool {
			x := net / r.DistanceKm.V / usual
			return x > farConsumption || x < 1/farConsumption
		}
		if !far(mid) {
			continue
		}
		if km := a.routeKm(r); km > 0 && math.Abs(km/r.DistanceKm.V-1) < sameRoute {
			continue
		}
		// A way down takes a fraction of the usual, as its climb and descent tell.
		usual := a.whPerKm(r)
		if usual == 0 {
			usual = mid
		}
		if far(usual) {
			a.wrongDistance(r, net/usual)
		}
	}
}

func (a *audit) told(r logbook.Record, field string) bool {
	_, told := a.seen[keyOf(r, field)]
	return told
}

// wrongDistance files a distance that the energy denies by far, where a factor
// explains it.
func (a *audit) wrongDistance(r *logbook.Ride, expected float64) {
	f, _ := logbook.FieldNamed(logbook.KindRide, "distance_km")
	surprise := math.Abs(math.Log(r.DistanceKm.V/expected)) / .1 // rides differ by some tenth or two
	k := a.explain("distance_km", r.DistanceKm.V, expected, surprise)
	if k == nil {
		return
	}
	a.add(r, "distance_km", k.code, say(named("distance_km"), " is ", exact(r.DistanceKm.V, f.Unit), " where the energy taken out goes about ", exact(expected, f.Unit), ": "+k.what), say("if so, ", k.mend(r, f, k.meant(a, r.DistanceKm.V))))
}

// meanVolts files Ah and Wh of one record that do not agree.
func (a *audit) meanVolts(r logbook.Record, ahField, whField string, ah, wh logbook.Num, volts float64) {
	if !(ah.V > 0) || !(wh.V > 0) || !(volts > 0) || a.miscounted() || a.told(r, ahField) || a.told(r, whField) {
		return
	}
	mean := wh.V / ah.V
	// A short charge is rounded to little more than nothing.
	ahHalf, whHalf := a.halfStep(r, ahField), a.halfStep(r, whField)
	if (wh.V+whHalf)/max(ah.V-ahHalf, 1e-9) >= leastMeanShare*volts && (wh.V-whHalf)/(ah.V+ahHalf) <= mostMeanShare*volts {
		return
	}
	field, figure, expected := ahField, ah.V, wh.V/volts
	if a.oddDecimals(r, whField) && !a.oddDecimals(r, ahField) {
		field, figure, expected = whField, wh.V, ah.V*volts
	}
	chem, _ := law.ChemistryNamed(a.h.Pack.Chemistry)
	f, _ := logbook.FieldNamed(r.Kind(), field)
	text := fmt.Sprintf("%s and %s give a mean of %.3g V a cell, which no %s cell has", ahField, whField, mean/a.series(), chem.Name)
	if k := a.explain(field, figure, expected, math.Abs(math.Log(figure/expected))/.05); k != nil {
		a.add(r, field, k.code, say(text+": in one of them "+strings.TrimPrefix(k.what, "the ")), say("if it is "+field+", ", k.mend(r, f, k.meant(a, figure))))
		return
	}
	a.add(r, field, codeUnlike, say(text), say("one of them is wrong: put it right or take it out: "+amend(r, field, "")))
}

// oddDecimals reports whether a figure has other decimals than that field
// mostly has in this log: a shifted point shows so.
func (a *audit) oddDecimals(r logbook.Record, field string) bool {
	f, _ := logbook.FieldNamed(r.Kind(), field)
	usual := a.usualDecimals(r, f)
	return decimals(f.Text(r)) > usual || decimals(f.Text(r)) < usual-1
}

// usualDecimals is how many decimals a field mostly has in this log.
func (a *audit) usualDecimals(r logbook.Record, f logbook.Field) int {
	if a.decimals == nil {
		a.decimals = map[string]int{}
	}
	key := r.Kind().String() + " " + f.Name
	usual, ok := a.decimals[key]
	if !ok {
		var all []int
		for _, o := range a.h.Records() {
			if o.Kind() == r.Kind() && f.Present(o) {
				all = append(all, decimals(f.Text(o)))
			}
		}
		slices.Sort(all)
		usual = all[len(all)/2]
		a.decimals[key] = usual
	}
	return usual
}

// halfStep is what a figure may be rounded by.
func (a *audit) halfStep(r logbook.Record, field string) float64 {
	f, _ := logbook.FieldNamed(r.Kind(), field)
	return .5 * math.Pow(10, -float64(min(a.usualDecimals(r, f), decimals(f.Text(r)))))
}

func decimals(text string) int {
	_, after, _ := strings.Cut(text, ".")
	return len(after)
}
