package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/health/units"
)

// quantity is a flag that takes a number in the unit of its name, or a number
// with any unit of its kind: --rest-v 38.4, --out-km "3 mi".
type quantity struct {
	num       logbook.Num
	unit      units.Unit
	low, high float64
}

// String implements pflag.Value.
func (q *quantity) String() string { return "" }

// Type implements pflag.Value.
func (q *quantity) Type() string {
	if s := q.unit.String(); s != "" {
		return s
	}
	return "N"
}

// Set implements pflag.Value.
func (q *quantity) Set(text string) error {
	v, _, err := units.ParseIn(text, q.unit, units.Metric)
	if err != nil {
		return err
	}
	if v < q.low || v > q.high {
		return fmt.Errorf("want %s to %s", units.Format(q.low, q.unit, units.Metric), units.Format(q.high, q.unit, units.Metric))
	}
	q.num = logbook.Some(v)
	return nil
}

// quantityFlag adds a flag for a quantity between two bounds.
func quantityFlag(c *cobra.Command, name string, u units.Unit, low, high float64, usage string) *quantity {
	q := &quantity{unit: u, low: low, high: high}
	c.Flags().Var(q, name, usage)
	return q
}
