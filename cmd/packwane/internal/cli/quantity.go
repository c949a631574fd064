package cli

import (
	"errors"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/units"
)

// quantity is a flag that takes a number in the unit of its name, or a number
// with any unit of its kind: --rest-v 38.4, --out-km "3 mi".
type quantity struct {
	num logbook.Num
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
	return nil
}

// quantityFlag adds a flag for a quantity.
func quantityFlag(c *cobra.Command, name string, ask typed.Ask, usage string) *quantity {
	q := &quantity{Ask: ask}
	c.Flags().Var(q, name, usage)
	return q
}
