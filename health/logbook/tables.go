package logbook

import (
	"math"
	"sync"
	"time"

	"packwane/health/units"
)

// The accepted texts of the fields that accept only some.
var (
	Chemistries  = []string{"nmc", "nca", "lco", "lmo", "lfp"}
	MeterSides   = []string{"dc", "ac"}
	Methods      = []string{"dc", "ac"}
	Shapes       = []string{"loop", "out_back", "one_way"}
	Stops        = []string{"limit", "cutoff", "fault", "chosen"}
	ServiceKinds = []string{"inspection", "repair", "cells_replaced", "balance", "storage", "impact", "water", "warning_sign", "retired", "snooze"}
)

// Fields returns the fields of kind k in the order in which they are written:
// id, rev and removed first, note last. The slice is shared: do not change it.
func Fields(k Kind) []Field { return tables[k] }

// FieldNamed returns the field of kind k with that very name.
func FieldNamed(k Kind, name string) (Field, bool) {
	i, ok := tableIndex()[k][name]
	if !ok {
		return Field{}, false
	}
	return tables[k][i], true
}

var tables = [...][]Field{
	KindBoard:   withHead(boardFields()),
	KindPack:    withHead(packFields()),
	KindSetup:   withHead(setupFields()),
	KindCharge:  withHead(chargeFields()),
	KindRide:    withHead(rideFields()),
	KindCheck:   withHead(checkFields()),
	KindService: withHead(serviceFields()),
}

// tableIndex is the place of each field in its table, by kind and name. Most
// calls never ask for it: records mostly come in the order of the table.
var tableIndex = sync.OnceValue(func() *[len(tables)]map[string]int {
	var index [len(tables)]map[string]int
	for k, fields := range tables {
		index[k] = make(map[string]int, len(fields))
		for i, f := range fields {
			index[k][f.Name] = i
		}
	}
	return &index
})

// requiredFields are those without which a record of the kind is refused.
var requiredFields = func() (required [len(tables)][]*Field) {
	for k := range tables {
		for i := range tables[k] {
			if f := &tables[k][i]; f.Required {
				required[k] = append(required[k], f)
			}
		}
	}
	return required
}()

func withHead(own []Field) []Field {
	fields := append(make([]Field, 0, len(own)+4), []Field{
		{Name: "id", Doc: "name of the record, made from its content where it is left out", Type: TypeText, ref: func(r Record) any { return &r.head().ID }},
		{Name: "rev", Doc: "revision, 1 where it is left out", Type: TypeNumber, Unit: units.Count, Min: 1, Max: math.MaxInt32, Whole: true, ref: func(r Record) any { return &r.head().Rev }},
		{Name: "removed", Doc: "true takes the record out of the log", Type: TypeFlag, ref: func(r Record) any { return &r.head().Removed }},
	}...)
	fields = append(fields, own...)
	return append(fields, Field{Name: "note", Doc: "free text", Type: TypeText, Long: true, ref: func(r Record) any { return &r.head().Note }})
}

// num, text, when, flag and choice build fields of a record type T; at points
// to the field.
func num[T any](name string, u units.Unit, min, max float64, doc string, at func(*T) *Num) Field {
	return Field{Name: name, Doc: doc, Type: TypeNumber, Unit: u, Min: min, Max: max, ref: func(r Record) any { return at(any(r).(*T)) }}
}

func text[T any](name, doc string, at func(*T) *string) Field {
	return Field{Name: name, Doc: doc, Type: TypeText, ref: func(r Record) any { return at(any(r).(*T)) }}
}

func choice[T any](name, doc string, enum []string, at func(*T) *string) Field {
	f := text(name, doc, at)
	f.Enum = enum
	return f
}

func when[T any](name, doc string, at func(*T) *time.Time) Field {
	return Field{Name: name, Doc: doc, Type: TypeTime, ref: func(r Record) any { return at(any(r).(*T)) }}
}

func flag[T any](name, doc string, at func(*T) *Flag) Field {
	return Field{Name: name, Doc: doc, Type: TypeFlag, ref: func(r Record) any { return at(any(r).(*T)) }}
}

// required, above, whole and asDate are the rarer traits of a field.
func required(f Field) Field { f.Required = true; return f }
func above(f Field) Field    { f.Above = true; return f }
func whole(f Field) Field    { f.Whole = true; return f }
func asDate(f Field) Field   { f.Type = TypeDate; return f }

// The widest values that any light electric vehicle, single cell on a bench
// or small electric vehicle gives; what is merely unlikely is told by Slips.
const (
	maxPackV   = 1500
	maxAh      = 10_000
	maxWh      = 1_000_000
	maxKm      = 5000
	maxMinutes = 100_000
)

func boardFields() []Field {
	type T = Board
	return []Field{
		text("name", "what the rider calls it", func(r *T) *string { return &r.Name }),
		above(num("mass_kg", units.Kg, 0, 2000, "ready to ride, pack in", func(r *T) *Num { return &r.MassKg })),
		text("tyre", "name of the tyre; one named solid, airless, urethane, honeycomb or foam has no pressure", func(r *T) *string { return &r.Tyre }),
		above(num("ref_tyre_kpa", units.Kpa, 0, 1500, "reference tyre pressure, gauge, cold", func(r *T) *Num { return &r.RefTyreKpa })),
		above(num("service_every_km", units.Km, 0, 100_000, "owner's service interval", func(r *T) *Num { return &r.ServiceEveryKm })),
		above(num("service_every_days", units.Days, 0, 10_000, "owner's service interval", func(r *T) *Num { return &r.ServiceEveryDays })),
	}
}

func packFields() []Field {
	type T = Pack
	return []Field{
		text("name", "what the rider calls it", func(r *T) *string { return &r.Name }),
		text("board", "id of its usual board", func(r *T) *string { return &r.Board }),
		choice("chemistry", "of the cells", Chemistries, func(r *T) *string { return &r.Chemistry }),
		text("cell_model", "as printed on the cell", func(r *T) *string { return &r.CellModel }),
		whole(num("series", units.Count, 1, 400, "groups in series", func(r *T) *Num { return &r.Series })),
		whole(num("parallel", units.Count, 1, 1000, "cells in each group", func(r *T) *Num { return &r.Parallel })),
		above(num("cell_capacity_ah", units.Ah, 0, 1000, "rated capacity of one cell", func(r *T) *Num { return &r.CellCapacityAh })),
		num("cell_nominal_v", units.Volt, 1, 5, "nominal volts of one cell", func(r *T) *Num { return &r.CellNominalV }),
		num("cell_full_v", units.Volt, 1, 5, "volts of one cell when full", func(r *T) *Num { return &r.CellFullV }),
		above(num("limit_v", units.Volt, 0, maxPackV, "pack volts under load at which riding must stop", func(r *T) *Num { return &r.LimitV })),
		above(num("cutoff_v", units.Volt, 0, maxPackV, "pack volts at which protection opens", func(r *T) *Num { return &r.CutoffV })),
		asDate(when("in_service", "date of first use", func(r *T) *time.Time { return &r.InService })),
		num("cycles_before", units.Count, 0, 100_000, "equivalent full cycles before the log begins", func(r *T) *Num { return &r.CyclesBefore }),
		above(num("asnew_ah", units.Ah, 0, maxAh, "delivered by a full cycle as new, if measured", func(r *T) *Num { return &r.AsnewAh })),
		num("retire_soh_pct", units.Pct, 1, 100, "state of health at which it is retired (70)", func(r *T) *Num { return &r.RetireSohPct }),
		num("need_range_km", units.Km, 0, maxKm, "range that the owner needs", func(r *T) *Num { return &r.NeedRangeKm }),
		num("ref_temp_c", units.Celsius, -40, 60, "reference temperature (25)", func(r *T) *Num { return &r.RefTempC }),
		above(num("ref_speed_kmh", units.Kmh, 0, 200, "reference moving speed", func(r *T) *Num { return &r.RefSpeedKmh })),
		above(num("ref_rider_kg", units.Kg, 0, 500, "reference rider with gear", func(r *T) *Num { return &r.RefRiderKg })),
		text("ref_route", "reference route", func(r *T) *string { return &r.RefRoute }),
	}
}

func setupFields() []Field {
	type T = Setup
	return []Field{
		required(when("at", "from when it holds", func(r *T) *time.Time { return &r.At })),
		text("pack", "id of the pack", func(r *T) *string { return &r.Pack }),
		text("board", "id of the board", func(r *T) *string { return &r.Board }),
		above(num("limit_v", units.Volt, 0, maxPackV, "pack volts under load at which riding must stop", func(r *T) *Num { return &r.LimitV })),
		above(num("cutoff_v", units.Volt, 0, maxPackV, "pack volts at which protection opens", func(r *T) *Num { return &r.CutoffV })),
		num("cell_full_v", units.Volt, 1, 5, "volts of one cell when full", func(r *T) *Num { return &r.CellFullV }),
		above(num("mass_kg", units.Kg, 0, 2000, "board ready to ride, pack in", func(r *T) *Num { return &r.MassKg })),
		text("tyre", "name of the tyre; one named solid, airless, urethane, honeycomb or foam has no pressure", func(r *T) *string { return &r.Tyre }),
		above(num("ref_tyre_kpa", units.Kpa, 0, 1500, "reference tyre pressure, gauge, cold", func(r *T) *Num { return &r.RefTyreKpa })),
	}
}

func chargeFields() []Field {
	type T = Charge
	return []Field{
		required(text("pack", "id of the pack", func(r *T) *string { return &r.Pack })),
		required(when("at", "its end", func(r *T) *time.Time { return &r.At })),
		when("start", "its start", func(r *T) *time.Time { return &r.Start }),
		above(num("start_rest_v", units.Volt, 0, maxPackV, "rest volts before", func(r *T) *Num { return &r.StartRestV })),
		above(num("end_rest_v", units.Volt, 0, maxPackV, "rest volts after", func(r *T) *Num { return &r.EndRestV })),
		num("end_rest_min", units.Min, 0, maxMinutes, "rested before end_rest_v was read", func(r *T) *Num { return &r.EndRestMin }),
		num("charged_ah", units.Ah, 0, maxAh, "charge put in", func(r *T) *Num { return &r.ChargedAh }),
		num("charged_wh", units.Wh, 0, maxWh, "energy put in", func(r *T) *Num { return &r.ChargedWh }),
		flag("full", "ran until the charger finished", func(r *T) *Flag { return &r.Full }),
		num("hold_min", units.Min, 0, maxMinutes, "kept on after that, for balancing", func(r *T) *Num { return &r.HoldMin }),
		text("meter", "name of the meter (pack)", func(r *T) *string { return &r.Meter }),
		choice("meter_side", "dc, or ac at the wall", MeterSides, func(r *T) *string { return &r.MeterSide }),
		num("error_pct", units.Pct, 0, 100, "error of the Ah and Wh", func(r *T) *Num { return &r.ErrorPct }),
		num("ambient_c", units.Celsius, -60, 80, "air temperature", func(r *T) *Num { return &r.AmbientC }),
		num("pack_c", units.Celsius, -60, 150, "pack temperature", func(r *T) *Num { return &r.PackC }),
		num("cell_spread_mv", units.Millivolt, 0, 5000, "spread of the groups at rest", func(r *T) *Num { return &r.CellSpreadMv }),
	}
}

func rideFields() []Field {
	type T = Ride
	return []Field{
		required(text("pack", "id of the pack", func(r *T) *string { return &r.Pack })),
		text("board", "id of the board", func(r *T) *string { return &r.Board }),
		required(when("at", "its start", func(r *T) *time.Time { return &r.At })),
		when("end", "its end", func(r *T) *time.Time { return &r.End }),
		num("distance_km", units.Km, 0, maxKm, "distance", func(r *T) *Num { return &r.DistanceKm }),
		num("odometer_km", units.Km, 0, 1_000_000, "odometer of the board at the end", func(r *T) *Num { return &r.OdometerKm }),
		above(num("moving_speed_kmh", units.Kmh, 0, 300, "mean speed, stops left out", func(r *T) *Num { return &r.MovingSpeedKmh })),
		num("moving_min", units.Min, 0, maxMinutes, "time on the move", func(r *T) *Num { return &r.MovingMin }),
		num("speed_sd_kmh", units.Kmh, 0, 200, "standard deviation of the speed", func(r *T) *Num { return &r.SpeedSdKmh }),
		above(num("start_rest_v", units.Volt, 0, maxPackV, "rest volts before", func(r *T) *Num { return &r.StartRestV })),
		above(num("end_rest_v", units.Volt, 0, maxPackV, "rest volts after", func(r *T) *Num { return &r.EndRestV })),
		num("end_rest_min", units.Min, 0, maxMinutes, "rested before end_rest_v was read", func(r *T) *Num { return &r.EndRestMin }),
		num("min_v", units.Volt, 0, maxPackV, "lowest volts under load", func(r *T) *Num { return &r.MinV }),
		num("peak_a", units.Ampere, 0, 5000, "peak battery current", func(r *T) *Num { return &r.PeakA }),
		num("discharged_ah", units.Ah, 0, maxAh, "charge taken out (gross where regeneration is given)", func(r *T) *Num { return &r.DischargedAh }),
		num("discharged_wh", units.Wh, 0, maxWh, "energy taken out (gross where regeneration is given)", func(r *T) *Num { return &r.DischargedWh }),
		num("regen_ah", units.Ah, 0, maxAh, "charge braked back in", func(r *T) *Num { return &r.RegenAh }),
		num("regen_wh", units.Wh, 0, maxWh, "energy braked back in", func(r *T) *Num { return &r.RegenWh }),
		text("meter", "name of the meter (pack)", func(r *T) *string { return &r.Meter }),
		num("error_pct", units.Pct, 0, 100, "error of the Ah and Wh", func(r *T) *Num { return &r.ErrorPct }),
		num("ambient_c", units.Celsius, -60, 80, "air temperature", func(r *T) *Num { return &r.AmbientC }),
		num("pack_c", units.Celsius, -60, 150, "mean pack temperature", func(r *T) *Num { return &r.PackC }),
		num("tyre_kpa", units.Kpa, 0, 1500, "tyre pressure, gauge, cold", func(r *T) *Num { return &r.TyreKpa }),
		text("rider", "who rode", func(r *T) *string { return &r.Rider }),
		above(num("rider_kg", units.Kg, 0, 500, "rider with gear", func(r *T) *Num { return &r.RiderKg })),
		num("headwind_kmh", units.Kmh, -200, 200, "mean wind along the way, + against", func(r *T) *Num { return &r.HeadwindKmh }),
		num("wind_kmh", units.Kmh, 0, 300, "wind speed", func(r *T) *Num { return &r.WindKmh }),
		num("wind_from_deg", units.Degree, 0, 360, "direction the wind comes from", func(r *T) *Num { return &r.WindFromDeg }),
		choice("shape", "of the way", Shapes, func(r *T) *string { return &r.Shape }),
		num("climb_m", units.Metre, 0, 50_000, "metres climbed", func(r *T) *Num { return &r.ClimbM }),
		num("descent_m", units.Metre, 0, 50_000, "metres descended", func(r *T) *Num { return &r.DescentM }),
		text("route", "name of the route", func(r *T) *string { return &r.Route }),
		text("session", "name of the outing", func(r *T) *string { return &r.Session }),
		choice("stop", "what ended it", Stops, func(r *T) *string { return &r.Stop }),
	}
}

func checkFields() []Field {
	type T = Check
	return []Field{
		required(text("pack", "id of the pack", func(r *T) *string { return &r.Pack })),
		required(when("at", "when", func(r *T) *time.Time { return &r.At })),
		choice("method", "dc pulse or ac meter", Methods, func(r *T) *string { return &r.Method }),
		above(num("resistance_mohm", units.Mohm, 0, 100_000, "resistance of the pack", func(r *T) *Num { return &r.ResistanceMohm })),
		above(num("rest_v", units.Volt, 0, maxPackV, "volts before the pulse", func(r *T) *Num { return &r.RestV })),
		num("load_v", units.Volt, 0, maxPackV, "volts at the end of the pulse", func(r *T) *Num { return &r.LoadV }),
		num("load_a", units.Ampere, 0, 5000, "current of the pulse", func(r *T) *Num { return &r.LoadA }),
		num("base_a", units.Ampere, 0, 5000, "current before the pulse (0)", func(r *T) *Num { return &r.BaseA }),
		above(num("pulse_s", units.Second, 0, 3600, "length of the pulse", func(r *T) *Num { return &r.PulseS })),
		num("soc_pct", units.Pct, 0, 100, "charge level", func(r *T) *Num { return &r.SocPct }),
		num("pack_c", units.Celsius, -60, 150, "pack temperature", func(r *T) *Num { return &r.PackC }),
		num("cell_spread_mv", units.Millivolt, 0, 5000, "spread of the groups at rest", func(r *T) *Num { return &r.CellSpreadMv }),
		{Name: "group_v", Doc: "rest volts of each series group", Type: TypeNumbers, Unit: units.Volt, Min: 0, Max: 6, ref: func(r Record) any { return &r.(*Check).GroupV }},
	}
}

func serviceFields() []Field {
	type T = Service
	return []Field{
		text("pack", "id of the pack", func(r *T) *string { return &r.Pack }),
		text("board", "id of the board", func(r *T) *string { return &r.Board }),
		required(when("at", "when", func(r *T) *time.Time { return &r.At })),
		required(choice("kind", "what was done or happened", ServiceKinds, func(r *T) *string { return &r.What })),
		when("until", "end of a storage or a snooze", func(r *T) *time.Time { return &r.Until }),
		flag("passed", "whether an inspection or repair passed", func(r *T) *Flag { return &r.Passed }),
	}
}
