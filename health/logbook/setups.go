package logbook

import (
	"slices"
	"strings"
	"time"
)

// OfPack reports whether a setup says something of a pack: volts.
func (s *Setup) OfPack() bool { return s.LimitV.OK || s.CutoffV.OK || s.CellFullV.OK }

// OfBoard reports whether a setup says something of a board: its mass or its tyres.
func (s *Setup) OfBoard() bool { return s.MassKg.OK || s.RefTyreKpa.OK || s.Tyre != "" }

// ForPack reports whether what a setup says of volts is of the history's pack: it names
// it. Packs of one board may have other groups in series, and another limit each.
func (h *History) ForPack(s *Setup) bool { return s.Pack == h.Pack.ID }

// ForBoard reports whether what a setup says of mass and tyres is of a board: it names
// the board, or the history's pack alone, whose usual board it is.
func (h *History) ForBoard(s *Setup, board string) bool {
	if s.Board != "" {
		return s.Board == board
	}
	return s.Pack == h.Pack.ID && board != "" && board == h.Pack.Board
}

// FirstSetUp returns the pack as it was set up before all else: what the pack's own
// record leaves open is as the first setup says that tells it.
func (h *History) FirstSetUp() Pack {
	out := *h.Pack
	for _, s := range h.Setups {
		if h.ForPack(s) {
			setIf(&out.LimitV, orElse(out.LimitV, s.LimitV))
			setIf(&out.CutoffV, orElse(out.CutoffV, s.CutoffV))
			setIf(&out.CellFullV, orElse(out.CellFullV, s.CellFullV))
		}
	}
	return out
}

// PackAt returns the pack as it was set up at a time: its limit, cut-off and full volts
// as the setups up to then say, else as the pack itself says.
func (h *History) PackAt(at time.Time) Pack {
	out := *h.Pack
	for _, s := range h.Setups {
		if h.ForPack(s) && !s.At.After(at) {
			setIf(&out.LimitV, s.LimitV)
			setIf(&out.CutoffV, s.CutoffV)
			setIf(&out.CellFullV, s.CellFullV)
		}
	}
	return out
}

// BoardAt returns a board as it was set up at a time: what the setups up to then say,
// else the board itself; empty but for its id where nothing is known. Tyres without air
// have no pressure, whatever the ones before had.
func (h *History) BoardAt(id string, at time.Time) Board {
	out := Board{Head: Head{ID: id}}
	if b := h.Boards[id]; b != nil {
		out = *b
	}
	for _, s := range h.Setups {
		if !h.ForBoard(s, id) || s.At.After(at) {
			continue
		}
		setIf(&out.MassKg, s.MassKg)
		setIf(&out.RefTyreKpa, s.RefTyreKpa)
		if s.Tyre != "" {
			out.Tyre = s.Tyre
		}
	}
	if out.Airless() {
		out.RefTyreKpa = Num{}
	}
	return out
}

// airless are words in the name of a tyre that holds no air.
var airless = []string{"solid", "airless", "urethane", "honeycomb", "foam"}

// Airless reports whether the board rolls on what holds no air, by the name of its tyre:
// it has no pressure that could be set or forgotten.
func (b Board) Airless() bool {
	name := strings.ToLower(b.Tyre)
	return slices.ContainsFunc(airless, func(word string) bool { return strings.Contains(name, word) })
}

func setIf(to *Num, n Num) {
	if n.OK {
		*to = n
	}
}
