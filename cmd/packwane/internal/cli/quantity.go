package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/units"
)

// quantity is a flag that takes a number in the unit of its name, or a number
// with any unit of its kind: --rest-v 38.4, --out-km "3 mi".
type quantity struct {
	num  logbook.Num
	bare bool // typed without a unit, where riders' units differ
	typed.Ask
}

// String implements pflag.Value.
func (q *quantity) String() string { return "" }

// Type implements pflag.Value.
func (q *quantity) Type() string {
	if s := q.Unit.String(); s != "" {
		return s
	}
	return "N"
}

// Set implements pflag.Value.
func (q *quantity) Set(text string) error {
	v, _, err := units.ParseIn(text, q.Unit, units.Metric)
	if err != nil {
		return err
	}
	if !q.Takes(v) {
		return errors.New("want " + q.Want(units.Metric))
	}
	q.num = logbook.Some(v)
	other, _, err := units.ParseIn(text, q.Unit, units.Imperial)
	q.bare = err != nil || other != v
	return nil
}

// quantityFlag adds a flag for a quantity.
func (a *app) quantityFlag(c *cobra.Command, name string, ask typed.Ask, usage string) *quantity {
	q := &quantity{Ask: ask}
	c.Flags().Var(q, name, usage)
	a.quantities = append(a.quantities, namedQuantity{name, q})
	return q
}

type namedQuantity struct {
	name string
	*quantity
}

// sayTaken tells a rider who prefers other units, once, what the numbers without a
// unit were taken for.
func (a *app) sayTaken(sys units.System) {
	if sys == units.Metric {
		return
	}
	for _, q := range a.quantities {
		if q.bare {
			q.bare = false
			here := units.Format(q.num.V, q.Unit, sys)
			fmt.Fprintf(a.streams.Err, "packwane: --%s is taken as %s, %s; a unit may be written with the number\n", q.name, units.Format(q.num.V, q.Unit, units.Metric), here)
		}
	}
}
