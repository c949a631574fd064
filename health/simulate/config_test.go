package simulate

import (
	"strings"
	"testing"

	"packwane/health/logbook"
)

func TestAnyPackCanBeLived(t *testing.T) {
	for _, p := range []struct {
		chemistry        string
		series, parallel int
		fullV, limitV    float64 // of a cell
	}{{"nmc", 4, 20, 4.2, 3}, {"nca", 30, 20, 4.2, 3.1}, {"lco", 10, 5, 4.2, 3.2}, {"lmo", 7, 8, 4.2, 3.2}, {"lfp", 16, 6, 3.65, 2.6}, {"nmc", 12, 5, 4.1, 3}} {
		cfg := Preset(Rich, 1)
		cfg.Years = 0.5
		cfg.Pack.Chemistry, cfg.Pack.Series, cfg.Pack.Parallel, cfg.Pack.FullV = p.chemistry, p.series, p.parallel, p.fullV
		cfg.Pack.LimitV, cfg.Pack.CutoffV = p.limitV*float64(p.series), 0.85*p.limitV*float64(p.series)
		cfg.Cell = drawnCell(p.chemistry, cfg.Pack.RatedAh, 1)
		cfg.Cell.R10Mohm /= 3
		l := run(t, cfg)
		for _, r := range l.Records {
			if err := logbook.Validate(r); err != nil {
				t.Fatalf("%+v: %v in %s", p, err, logbook.AppendJSON(nil, r))
			}
		}
		if f := l.Truth.At(l.Truth.End); f.CapacityAh <= 0 || f.RangeKm <= 0 {
			t.Errorf("%+v: %+v", p, f)
		}
	}
}

// Charging to less than full leaves capacity unused (nmc: 4.1 V rests at some
// 90 % or a little above).
func TestChargingToLessHoldsLess(t *testing.T) {
	cfg := Preset(Rich, 2)
	full := run(t, cfg).Truth.AsNew().CapacityAh
	cfg.Pack.FullV = 4.1
	less := run(t, cfg).Truth.AsNew().CapacityAh
	if share := less / full; share < 0.84 || share > 0.97 {
		t.Errorf("charged to 4.1 V it holds %.3f of what it holds at 4.2 V", share)
	}
}

func TestUselessConfigurationsAreRefused(t *testing.T) {
	for want, spoil := range map[string]func(*Config){
		"chemistry":       func(c *Config) { c.Pack.Chemistry = "lead" },
		"series":          func(c *Config) { c.Pack.Series = 0 },
		"limit":           func(c *Config) { c.Pack.LimitV = 500 },
		"years":           func(c *Config) { c.Years = 0 },
		"cell":            func(c *Config) { c.Cell = Cell{} },
		"rider":           func(c *Config) { c.Riders = nil },
		"carry the board": func(c *Config) { c.Pack.Series, c.Pack.Parallel, c.Pack.LimitV, c.Pack.CutoffV = 1, 1, 3, 2.5 },
		"reference route": func(c *Config) { c.Pack.RefRoute = "nowhere" },
	} {
		cfg := Preset(Rich, 1)
		spoil(&cfg)
		if _, err := Run(cfg); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
}

func TestSiblingsAreAlikeButNotTheSame(t *testing.T) {
	cfg := Preset(Rich, 3)
	a, b := run(t, cfg).Truth, run(t, Sibling(cfg, 1)).Truth
	x, y := a.At(a.End), b.At(b.End)
	if x == y || x.SohPct/y.SohPct > 1.06 || y.SohPct/x.SohPct > 1.06 {
		t.Errorf("%+v and %+v", x, y)
	}
}
