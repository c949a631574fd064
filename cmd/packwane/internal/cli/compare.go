package cli

import (
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/pictures"
	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/units"
)

// comparing is how a comparison is asked for.
type comparing struct {
	rides                          []string
	speed, temp, rider, wind, tyre *quantity
	route, chart                   string
}

func newCompare(a *app) *cobra.Command {
	var ask comparing
	c := &cobra.Command{
		Use: "compare PACK PACK... | --ride RIDE --ride RIDE...", Short: "Show which goes farther, brought to the same conditions", GroupID: groupAnswers,
		Long: `Brings packs with their boards, or single rides, to the same speed, rider,
temperature and wind, each board at its own tyre pressure: the first one's
reference conditions unless flags say otherwise. Shows each range, the
differences, how likely the one goes farther on average, and whether the log
can tell them apart. Rides of one session share their day, which cancels. It
says where an answer leans on the model beyond what was ever ridden.`,
		Example: `  packwane compare kite-a kite-b
  packwane compare kite-a wren-a --speed-kmh 22 --temp-c 8
  packwane compare --ride ride-k3f9x2m7qa --ride ride-7h2m1c9d0p --chart two.svg`,
		Args:              between(0, -1),
		RunE:              func(_ *cobra.Command, args []string) error { return a.compare(args, &ask) },
		ValidArgsFunction: a.completePacks,
	}
	f := c.Flags()
	f.StringArrayVar(&ask.rides, "ride", nil, "compare single rides: a `RIDE`, given twice or more")
	ask.speed = quantityFlag(c, "speed-kmh", units.Kmh, 3, 100, "moving speed")
	ask.temp = quantityFlag(c, "temp-c", units.Celsius, -30, 50, "air and pack")
	ask.rider = quantityFlag(c, "rider-kg", units.Kg, 15, 250, "rider with gear")
	ask.wind = quantityFlag(c, "headwind-kmh", units.Kmh, -80, 80, "wind along the way, + against")
	ask.tyre = quantityFlag(c, "tyre-kpa", units.Kpa, 50, 1200, "all tyres at this pressure (else each at its own)")
	f.StringVar(&ask.route, "route", "", "the surface of a `ROUTE` that was logged")
	f.StringVar(&ask.chart, "chart", "", "draw it to `FILE` (.svg or .png)")
	c.RegisterFlagCompletionFunc("ride", a.completeRides)
	return c
}

// completePacks completes any number of packs.
func (a *app) completePacks(_ *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	return a.ids(logbook.KindPack), noFiles
}

func (ask *comparing) overrides() report.Overrides {
	return report.Overrides{SpeedKmh: ask.speed.num, TempC: ask.temp.num, RiderKg: ask.rider.num, HeadwindKmh: ask.wind.num, TyreKpa: ask.tyre.num, Route: ask.route}
}

func (a *app) compare(packs []string, ask *comparing) error {
	switch {
	case len(packs) > 0 && len(ask.rides) > 0:
		return wrong("packs and --ride at once: want either packs or rides")
	case len(ask.rides) == 0 && len(packs) < 2:
		return wrong("too few to compare: want two packs or more, or --ride given twice or more")
	case len(ask.rides) == 1:
		return wrong("--ride is given once: want two rides or more")
	}
	if err := checkPicture(ask.chart); err != nil {
		return err
	}
	q, c, err := a.compared(packs, ask)
	if err != nil {
		return err
	}
	if err := a.picture(ask.chart, pictures.Compared(c, q.who.System)); err != nil {
		return err
	}
	if a.json {
		return a.printJSON(c)
	}
	return a.showCompare(q, c, a.streams.OutTerminal)
}

// compared works out the comparison; the question is that of the first.
func (a *app) compared(packs []string, ask *comparing) (*question, *report.Compare, error) {
	if len(ask.rides) == 0 {
		qs, known, err := a.aboutPacks(packs)
		if err != nil {
			return nil, nil, err
		}
		if err := routeKnown(ask.route, known); err != nil {
			return nil, nil, err
		}
		return qs[0], report.ComparePacks(known, ask.overrides()), nil
	}
	var first *question
	var rides []report.RideOf
	seen := map[string]report.Known{}
	for i, id := range ask.rides {
		for _, other := range ask.rides[:i] {
			if other == id {
				return nil, nil, wrong("--ride %q is given twice: want different rides", id)
			}
		}
		q, r, err := a.aboutRide(id)
		if err != nil {
			return nil, nil, err
		}
		if first == nil {
			first = q
		}
		key := q.history.Pack.ID + q.history.AsOf.String()
		if _, ok := seen[key]; !ok {
			seen[key] = report.Known{History: q.history, Fit: q.fit()}
		}
		rides = append(rides, report.RideOf{Known: seen[key], Ride: r})
	}
	return first, report.CompareRides(rides, ask.overrides()), nil
}

// routeKnown refuses a route that no log names.
func routeKnown(route string, known []report.Known) error {
	if route == "" {
		return nil
	}
	for _, k := range known {
		for _, r := range k.History.Rides {
			if r.Route == route {
				return nil
			}
		}
	}
	return wrong("--route %q: no ride of these packs names it", route)
}

// showCompare prints a comparison: the verdicts in words, then the figures.
func (a *app) showCompare(q *question, c *report.Compare, aligned bool) error {
	f := newFigures(q.who.System, c.Warnings)
	for _, e := range c.Entries {
		name := entryID(e)
		if aligned {
			f.head(e.Name)
			name = ""
		}
		label := func(what string) string {
			if name == "" {
				return what
			}
			return name + " " + what
		}
		f.estimate(label("range"), e.RangeKm, units.Km)
		f.estimate(label("capacity"), e.CapacityWh, units.Wh)
		f.estimate(label("consumption"), e.ConsumptionWhPerKm, units.WhPerKm)
	}
	for _, p := range c.Pairs {
		label := p.A + " less " + p.B
		if aligned {
			f.head(label)
			label = "difference"
		}
		l := f.estimate(label, p.DifferenceKm, units.Km)
		if p.Paired {
			l.remark = "same outing"
		}
		if p.ProbabilityAFarther == nil {
			continue
		}
		chance := p.A + " farther than " + p.B
		if aligned {
			chance = "the first goes farther"
		}
		f.add(figureLine{label: chance, value: percent(*p.ProbabilityAFarther), symbol: "%"})
	}
	if !aligned {
		return f.writeTabs(a)
	}
	if _, err := fmt.Fprint(a.streams.Out, wrap("", a.conditionWords(q, c), a.streams.width())); err != nil {
		return err
	}
	for _, p := range c.Pairs {
		if err := a.paragraph(verdictWords(c, p, q.who.System)); err != nil {
			return err
		}
	}
	return f.writeAligned(a)
}

func entryID(e report.Entry) string {
	if e.Ride != "" {
		return e.Ride
	}
	return e.Pack
}

// percent writes a probability without claiming certainty.
func percent(p float64) string {
	switch v := math.Round(100 * p); {
	case v >= 100:
		return "over 99"
	case v <= 0:
		return "under 1"
	default:
		return fmt.Sprintf("%.0f", v)
	}
}

func (a *app) conditionWords(q *question, c *report.Compare) string {
	sys, k := q.who.System, c.Conditions
	words := "At " + units.Format(k.SpeedKmh, units.Kmh, sys) + ", " + units.Format(k.TempC, units.Celsius, sys) + ", a rider of " + units.Format(k.RiderKg, units.Kg, sys) + " with gear, "
	if k.HeadwindKmh == 0 {
		words += "no wind, "
	} else {
		words += units.Format(k.HeadwindKmh, units.Kmh, sys) + " of wind against, "
	}
	if k.TyreKpa == nil {
		words += "each board at its own tyre pressure"
	} else {
		words += "all tyres at " + units.Format(*k.TyreKpa, units.Kpa, sys)
	}
	if k.Route != nil {
		return words + ", on " + *k.Route + "."
	}
	return words + ", each on its own routes."
}

// verdictWords says a pair in a sentence: who goes farther, by how much, or
// that the log cannot tell.
func verdictWords(c *report.Compare, p report.Pair, sys units.System) string {
	if p.DifferenceKm == nil {
		return p.A + " and " + p.B + ": the log does not tell."
	}
	d := p.DifferenceKm
	by := func(v float64, low, high *float64) string {
		return units.FormatInterval(v, or(low, math.Inf(-1)), or(high, math.Inf(1)), units.Km, sys)
	}
	switch p.Verdict {
	case report.VerdictA:
		return p.A + " goes farther than " + p.B + ", by " + by(d.Value, d.Low, d.High) + "."
	case report.VerdictB:
		low, high := -*d.High, -or(d.Low, d.Value)
		return p.B + " goes farther than " + p.A + ", by " + by(-d.Value, &low, &high) + "."
	}
	half := d.Value - or(d.Low, d.Value)
	if d.High != nil {
		half = math.Max(half, *d.High-d.Value)
	}
	r := units.Round(d.Value, d.Value-half, d.Value+half, units.Km, sys)
	h := units.Round(half, half-half, half+half, units.Km, sys)
	return p.A + " and " + p.B + " cannot be told apart: " + r.Value + " ± " + h.Value + " " + r.Symbol + ". `packwane plan` says how many tests would."
}
