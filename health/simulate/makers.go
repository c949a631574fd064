package simulate

import (
	"time"

	"packwane/health/logbook"
)

// makers returns the records of the pack and of its board (nil on the bench).
func (m *sim) makers(toldAh float64) (*logbook.Pack, *logbook.Board) {
	p, b := &m.cfg.Pack, &m.cfg.Board
	num := func(v float64) logbook.Num {
		if v == 0 {
			return logbook.Num{}
		}
		return logbook.Some(v)
	}
	in := m.start().Add(-time.Duration(p.AgeYears*8766) * time.Hour)
	pack := &logbook.Pack{
		Head: logbook.Head{ID: p.ID, Rev: 1, Note: "invented"}, Name: p.Name, Chemistry: p.Chemistry, CellModel: p.CellModel,
		Series: num(float64(p.Series)), Parallel: num(float64(p.Parallel)), CellCapacityAh: num(p.RatedAh), CellNominalV: num(p.NominalV), CellFullV: num(p.FullV),
		LimitV: num(p.LimitV), CutoffV: num(p.CutoffV), InService: time.Date(in.Year(), in.Month(), in.Day(), 0, 0, 0, 0, time.UTC),
		CyclesBefore: num(p.CyclesBefore), AsnewAh: num(toldAh), RetireSohPct: num(p.RetireSohPct), NeedRangeKm: num(p.NeedRangeKm),
		RefTempC: num(p.RefTempC), RefSpeedKmh: num(p.RefSpeedKmh), RefRiderKg: num(p.RefRiderKg), RefRoute: p.RefRoute,
	}
	if m.cfg.Bench != nil {
		return pack, nil
	}
	pack.Board = b.ID
	board := &logbook.Board{
		Head: logbook.Head{ID: b.ID, Rev: 1, Note: "invented"}, Name: b.Name, MassKg: num(b.MassKg), Tyre: b.Tyre, RefTyreKpa: num(b.RefTyreKpa),
		ServiceEveryKm: num(b.ServiceEveryKm), ServiceEveryDays: num(b.ServiceEveryDays),
	}
	return pack, board
}
