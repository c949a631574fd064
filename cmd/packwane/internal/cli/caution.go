package cli

import (
	"fmt"
	"strings"

	"packwane/health/law"
	"packwane/health/logbook"
	"packwane/health/report"
)

// cautions are what is said behind a service record whose matter can hurt
// somebody. Common practice, no source.
var cautions = map[string]string{
	"impact":         "After a knock, do not ride, charge or open the pack; keep it outdoors, away from what burns, until a trained person has inspected it under your local codes.",
	"water":          "After water got in, do not ride, charge or open the pack; keep it outdoors, away from what burns, until a trained person has inspected it under your local codes.",
	"warning_sign":   "With swelling, smell, heat, hiss or a leak, do not ride, charge or open the pack; get away from it if it warms up or smokes and call the fire service. Have it inspected by a trained person under your local codes.",
	"repair":         "Opening a pack is for trained people under your local codes.",
	"cells_replaced": "Opening a pack is for trained people under your local codes. Inspect it before it is charged or ridden. Where the new cells are others, amend what the pack's record says of them (cell-capacity, cell-model, cell-full): it stands for the present cells.",
	"balance":        "Do not leave a charging pack alone, and charge it away from what burns, under your local codes.",
	"storage":        "Store a pack part charged, cool and dry, away from what burns and from ways out, under your local codes.",
}

// caution returns what a person should be told about a record that was just
// logged; "" for most. p is its pack, nil where it has none.
func caution(r logbook.Record, p *logbook.Pack) string {
	switch r := r.(type) {
	case *logbook.Service:
		if r.What == "repair" && r.Pack == "" {
			return "" // of a board
		}
		return cautions[r.What]
	case *logbook.Ride:
		return rideCaution(r, p)
	case *logbook.Setup:
		return setupCaution(r, p)
	case *logbook.Pack:
		return packCaution(r)
	case *logbook.Charge:
		if c := r.PackC; c.OK && c.V < 0 || !c.OK && r.AmbientC.OK && r.AmbientC.V < 0 {
			return "Most lithium cells must not be charged below 0 °C (32 °F): warm the pack up first, and keep to what its maker says."
		}
	}
	return ""
}

// setupCaution is for a setup that takes more out of the cells than before, or puts more in;
// p is the pack as it was set up.
func setupCaution(s *logbook.Setup, p *logbook.Pack) string {
	if p == nil {
		return ""
	}
	chem, _ := law.ChemistryNamed(p.Chemistry)
	words, was, whence := "", p.LimitV, "of before"
	if !was.OK && p.Series.OK {
		was, whence = logbook.Some(p.Series.V*chem.LimitV), "that are taken where none is logged"
	}
	if s.CellFullV.OK && s.CellFullV.V > p.CellFullV.Or(chem.FullV) {
		words = "Cells that are charged higher than their maker allows can catch fire: keep to the data sheet, and have the charger and the protection set by a trained person under your local codes. "
	}
	if s.LimitV.OK && was.OK && s.LimitV.V < was.V {
		words += lowLimit(was.V, whence)
	}
	return strings.TrimSpace(words)
}

// packCaution is for a pack whose record lets its cells go lower than is usual.
func packCaution(p *logbook.Pack) string {
	chem, known := law.ChemistryNamed(p.Chemistry)
	usual := p.Series.V * chem.LimitV
	if !known || !p.Series.OK || !p.LimitV.OK || p.LimitV.V > usual-report.DipV {
		return ""
	}
	return lowLimit(usual, "that are usual for such cells")
}

func lowLimit(thanV float64, whence string) string {
	return fmt.Sprintf("The limit is lower than the %s V %s, and every answer that tells how far goes down to it: keep to the volts under load that the cells' maker allows, well above where the protection opens. A board that loses its drive or its brake can throw its rider.", logbook.FormatNumber(thanV), whence)
}

func rideCaution(r *logbook.Ride, p *logbook.Pack) string {
	switch {
	case r.Stop == "cutoff":
		return "The protection opened: a board that loses its drive or its brake can throw its rider. Stop at the low-voltage limit, before that; if it opens again, do not ride until the pack has been inspected."
	case p != nil && p.LimitV.OK && r.MinV.OK && r.MinV.V < p.LimitV.V-report.DipV:
		return fmt.Sprintf("The pack fell below its limit of %s V under load: stop riding at the limit.", logbook.FormatNumber(p.LimitV.V))
	}
	return ""
}
