package logbook

import (
	"fmt"
	"time"
)

// Validate says what is wrong with r taken alone: a required field that is
// missing, a value out of range, an order of times that cannot be. It brings
// r into canonical form on the way (times in zones of their own). The error
// is a *FieldError; nil means that r may be stored.
func Validate(r Record) error {
	normalise(r)
	for i := range tables[r.Kind()] {
		f := &tables[r.Kind()][i]
		if err := f.validate(r); err != nil {
			return err
		}
	}
	return validateWhole(r)
}

// validateWhole checks what the fields of r say together. A removal says
// nothing.
func validateWhole(r Record) error {
	if r.head().Removed {
		return nil
	}
	switch r := r.(type) {
	case *Pack:
		return r.validate()
	case *Setup:
		return oneOwner(r.Pack, r.Board)
	case *Charge:
		return r.validate()
	case *Ride:
		return r.validate()
	case *Check:
		return r.validate()
	case *Service:
		if err := oneOwner(r.Pack, r.Board); err != nil {
			return err
		}
		return inOrder("until", r.At, r.Until)
	}
	return nil
}

func (f *Field) validate(r Record) error {
	if !f.Present(r) {
		return f.missing(r)
	}
	switch p := f.ref(r).(type) {
	case *string:
		return f.setString(p, *p)
	case *Num:
		return f.checkRange(p.V, "")
	case *[]float64:
		for _, v := range *p {
			if err := f.checkRange(v, ""); err != nil {
				return err
			}
		}
	case *time.Time:
		if !saneYear(*p) {
			return f.refuse(f.Text(r))
		}
	}
	return nil
}

// missing refuses r where it lacks the field and must have it. A removal needs
// none.
func (f *Field) missing(r Record) error {
	if !f.Required || r.head().Removed || f.Present(r) {
		return nil
	}
	return &FieldError{Field: f.Name, Want: "missing: " + f.Want()}
}

func oneOwner(pack, board string) error {
	if (pack == "") == (board == "") {
		return &FieldError{Field: "pack", Value: pack, Want: "want either pack or board"}
	}
	return nil
}

func inOrder(name string, first, second time.Time) error {
	if !second.IsZero() && second.Before(first) {
		return &FieldError{Field: name, Value: FormatTime(second), Want: "want a time not before " + FormatTime(first)}
	}
	return nil
}

func (p *Pack) validate() error {
	if p.LimitV.OK && p.CutoffV.OK && p.CutoffV.V > p.LimitV.V {
		return &FieldError{Field: "cutoff_v", Value: FormatNumber(p.CutoffV.V), Want: "want at most limit_v " + FormatNumber(p.LimitV.V) + ": protection opens below the limit"}
	}
	if p.CellFullV.OK && p.CellNominalV.OK && p.CellNominalV.V > p.CellFullV.V {
		return &FieldError{Field: "cell_nominal_v", Value: FormatNumber(p.CellNominalV.V), Want: "want at most cell_full_v " + FormatNumber(p.CellFullV.V)}
	}
	if p.LimitV.OK && p.CellFullV.OK && p.Series.OK && p.LimitV.V >= p.CellFullV.V*p.Series.V {
		return &FieldError{Field: "limit_v", Value: FormatNumber(p.LimitV.V), Want: fmt.Sprintf("want pack volts below series x cell_full_v = %s", FormatNumber(p.CellFullV.V*p.Series.V))}
	}
	return nil
}

func (c *Charge) validate() error {
	if !c.Start.IsZero() && c.Start.After(c.At) {
		return &FieldError{Field: "start", Value: FormatTime(c.Start), Want: "want a time not after at (the end) " + FormatTime(c.At)}
	}
	if c.MeterSide == "ac" && c.ChargedAh.OK {
		return &FieldError{Field: "charged_ah", Value: FormatNumber(c.ChargedAh.V), Want: "a meter at the wall (meter_side ac) gives charged_wh only"}
	}
	return nil
}

func (r *Ride) validate() error {
	if err := inOrder("end", r.At, r.End); err != nil {
		return err
	}
	if r.RegenAh.OK && r.DischargedAh.OK && r.RegenAh.V > r.DischargedAh.V {
		return &FieldError{Field: "regen_ah", Value: FormatNumber(r.RegenAh.V), Want: "want at most discharged_ah " + FormatNumber(r.DischargedAh.V)}
	}
	if r.RegenWh.OK && r.DischargedWh.OK && r.RegenWh.V > r.DischargedWh.V {
		return &FieldError{Field: "regen_wh", Value: FormatNumber(r.RegenWh.V), Want: "want at most discharged_wh " + FormatNumber(r.DischargedWh.V)}
	}
	return nil
}

func (c *Check) validate() error {
	if c.LoadV.OK && c.RestV.OK && c.LoadV.V > c.RestV.V {
		return &FieldError{Field: "load_v", Value: FormatNumber(c.LoadV.V), Want: "want at most rest_v " + FormatNumber(c.RestV.V)}
	}
	if c.LoadA.OK && c.LoadV.OK && c.LoadA.V <= c.BaseA.Or(0) {
		return &FieldError{Field: "load_a", Value: FormatNumber(c.LoadA.V), Want: "want more than base_a " + FormatNumber(c.BaseA.Or(0))}
	}
	return nil
}
