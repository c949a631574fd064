package simulate

import "packwane/health/logbook"

// Slip is a kind of wrong entry.
type Slip string

// The likely slips.
const (
	MilesAsKm      Slip = "miles_as_km"
	PsiAsKpa       Slip = "psi_as_kpa"
	ShiftedDecimal Slip = "shifted_decimal"
	MeterRestarted Slip = "meter_restarted"
	UnderLoad      Slip = "volts_under_load"
	TooSoon        Slip = "volts_too_soon"
)

// Wrong says which entry of the log is wrong, and how.
type Wrong struct {
	Kind   logbook.Kind
	Record string
	Field  string
	Slip   Slip
	Was    float64 // what ought to stand there
	Is     float64
}

// slip is one way in which a record could be wrong.
type slip struct {
	kind  Slip
	field string
	num   *logbook.Num
	is    float64
}

func (k *keeper) decimal(field string, num *logbook.Num) slip {
	by := 10.0
	if k.slips.rng.Float64() < 0.5 {
		by = 0.1
	}
	return slip{ShiftedDecimal, field, num, round(num.V*by, 0.001)}
}

func (k *keeper) slipRide(m *sim, r *logbook.Ride, t *RideTruth) {
	before := *r
	part := 0.2 + 0.6*k.slips.rng.Float64()
	soon := t.Outcome.end
	m.g.relax(&soon, 0.01)
	mt := &m.cfg.Meters
	able := present([]slip{
		{MilesAsKm, "distance_km", &r.DistanceKm, round(r.DistanceKm.V/1.609344, 0.01)},
		{PsiAsKpa, "tyre_kpa", &r.TyreKpa, round(r.TyreKpa.V/6.894757, 1)},
		k.decimal("distance_km", &r.DistanceKm),
		k.decimal("discharged_wh", &r.DischargedWh),
		k.decimal("discharged_ah", &r.DischargedAh),
		{MeterRestarted, "discharged_ah", &r.DischargedAh, round(r.DischargedAh.V*part, 0.01)},
		{UnderLoad, "end_rest_v", &r.EndRestV, mt.volts(t.Outcome.lastV, k.slips)},
		{TooSoon, "end_rest_v", &r.EndRestV, mt.volts(m.g.restV(&soon, t.Drive.Age), k.slips)},
	})
	done := k.apply(r, able)
	if done == MeterRestarted { // it lost all its counts
		for _, n := range []*logbook.Num{&r.DischargedWh, &r.RegenAh, &r.RegenWh} {
			if n.OK {
				n.V = round(n.V*part, 0.01)
			}
		}
	}
	if done != "" && logbook.Validate(r) != nil {
		*r = before
		k.wrong = k.wrong[:len(k.wrong)-1]
	}
}

func (k *keeper) slipCharge(m *sim, r *logbook.Charge, t *chargeTruth) {
	before := *r
	part := 0.2 + 0.6*k.slips.rng.Float64()
	soon := t.after
	able := present([]slip{
		k.decimal("charged_wh", &r.ChargedWh),
		k.decimal("charged_ah", &r.ChargedAh),
		{MeterRestarted, "charged_wh", &r.ChargedWh, round(r.ChargedWh.V*part, 0.1)},
		{TooSoon, "end_rest_v", &r.EndRestV, m.cfg.Meters.volts(m.g.restV(&soon, t.age), k.slips)},
	})
	done := k.apply(r, able)
	if done == MeterRestarted && r.ChargedAh.OK {
		r.ChargedAh.V = round(r.ChargedAh.V*part, 0.01)
	}
	if done != "" && logbook.Validate(r) != nil {
		*r = before
		k.wrong = k.wrong[:len(k.wrong)-1]
	}
}

// present keeps the slips whose figure was written down and would change.
func present(all []slip) []slip {
	var out []slip
	for _, s := range all {
		if s.num.OK && s.num.V > 0 && s.is != s.num.V {
			out = append(out, s)
		}
	}
	return out
}

// apply makes one of the slips and notes it.
func (k *keeper) apply(r logbook.Record, able []slip) Slip {
	if len(able) == 0 {
		return ""
	}
	s := able[k.slips.rng.IntN(len(able))]
	k.wrong = append(k.wrong, Wrong{Kind: r.Kind(), Record: logbook.HeadOf(r).ID, Field: s.field, Slip: s.kind, Was: s.num.V, Is: s.is})
	*s.num = logbook.Some(s.is)
	return s.kind
}
