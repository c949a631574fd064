package report

import (
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// TestUnriddenGear: a board or tyres that nobody rode yet are said to be guessed, until
// the first ride on them.
func TestUnriddenGear(t *testing.T) {
	all, _, err := simulate.Demo(courseNow)
	if err != nil {
		t.Fatal(err)
	}
	head := func(id string) logbook.Head { return logbook.Head{ID: id, Rev: 1} }
	ride := func(board string) logbook.Record {
		at := courseNow.Add(-2 * time.Hour)
		return &logbook.Ride{Head: head("last"), Pack: "wren-pack", Board: board, At: at, End: at.Add(time.Hour), DistanceKm: logbook.Some(20), DischargedWh: logbook.Some(240)}
	}
	usual := ""
	for _, c := range []struct {
		name, board string
		more        []logbook.Record
		code        string
	}{
		{"as ever", "", nil, ""},
		{"another board", "new", nil, "board_not_ridden"},
		{"ridden once", "new", []logbook.Record{ride("new")}, ""},
		{"other tyres", "", []logbook.Record{&logbook.Setup{Head: head("s"), At: courseNow.Add(-4 * time.Hour), Board: "USUAL", Tyre: "slick"}}, "tyres_not_ridden"},
		{"ridden on them", "", []logbook.Record{&logbook.Setup{Head: head("s"), At: courseNow.Add(-4 * time.Hour), Board: "USUAL", Tyre: "slick"}, ride("")}, ""},
	} {
		records := append([]logbook.Record(nil), all...)
		for i, r := range records {
			if p, ok := r.(*logbook.Pack); ok && p.ID == "wren-pack" {
				other := *p
				if usual = p.Board; c.board != "" {
					other.Board = c.board
				}
				records[i] = &other
			}
			if r, ok := r.(*logbook.Ride); ok && r.Pack == "wren-pack" && r.Board == "" {
				other := *r
				other.Board = "wren"
				records[i] = &other
			}
		}
		for _, r := range c.more {
			if s, ok := r.(*logbook.Setup); ok {
				s.Board = usual
			}
		}
		h := pastOf(t, append(records, c.more...), "wren-pack", courseNow)
		got := ""
		for _, w := range HealthOf(h, plainFit(h)).Warnings {
			if w.Code == "board_not_ridden" || w.Code == "tyres_not_ridden" {
				got += w.Code
			}
		}
		if got != c.code {
			t.Errorf("%s: %q, want %q", c.name, got, c.code)
		}
	}
}
