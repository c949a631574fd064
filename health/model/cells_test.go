package model

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sort"
	"strconv"
	"strings"
	"testing"
	"time"

	"packwane/health/law"
	"packwane/health/logbook"
)

type realCell struct {
	family, name, chem string
	rated, temp        float64
	cycle, rel         []float64
}

func realCells(t *testing.T) []realCell {
	dir := os.Getenv("PACKWANE_REFERENCE")
	if dir == "" {
		t.Skip("PACKWANE_REFERENCE is not set")
	}
	var out []realCell
	read := func(file string, f func(m map[string]string) (fam, name, chem string, rated, temp, cyc, rel float64)) {
		fh, err := os.Open(dir + "/" + file)
		if err != nil {
			t.Fatal(err)
		}
		rows, _ := csv.NewReader(fh).ReadAll()
		for _, row := range rows[1:] {
			m := map[string]string{}
			for i, n := range rows[0] {
				m[n] = row[i]
			}
			fam, name, chem, rated, temp, cyc, rel := f(m)
			if n := len(out); n == 0 || out[n-1].family+out[n-1].name != fam+name {
				out = append(out, realCell{family: fam, name: name, chem: chem, rated: rated, temp: temp})
			}
			c := &out[len(out)-1]
			c.cycle, c.rel = append(c.cycle, cyc), append(c.rel, rel)
		}
	}
	num := func(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v }
	read("ageing_curves.csv", func(m map[string]string) (string, string, string, float64, float64, float64, float64) {
		set := m["set"]
		if strings.HasPrefix(set, "tju") {
			set += "_" + m["temp_c"]
		}
		return set, m["cell"], m["chemistry"], num(m["rated_ah"]), num(m["temp_c"]), num(m["cycle"]), num(m["capacity_rel"])
	})
	read("nasa_pcoe_capacity.csv", func(m map[string]string) (string, string, string, float64, float64, float64, float64) {
		return "nasa_pcoe", m["cell"], "nca", 2, 24, num(m["cycle"]), num(m["discharge_capacity_ah"]) / 2
	})
	read("calce_cs2_capacity_resistance.csv", func(m map[string]string) (string, string, string, float64, float64, float64, float64) {
		return "calce_cs2", m["cell"], "lco", 1.1, 24, num(m["cycle"]), num(m["discharge_capacity_ah"]) / 1.1
	})
	return out
}

func (c *realCell) at(x float64) float64 {
	i := sort.SearchFloat64s(c.cycle, x)
	if i == 0 {
		return c.rel[0]
	}
	if i >= len(c.cycle) {
		return c.rel[len(c.rel)-1]
	}
	return c.rel[i-1] + (x-c.cycle[i-1])/(c.cycle[i]-c.cycle[i-1])*(c.rel[i]-c.rel[i-1])
}

func (c *realCell) life() float64 {
	// running median against regeneration spikes
	for x := c.cycle[0]; x < c.cycle[len(c.cycle)-1]; x++ {
		if c.at(x) < .8*c.rel[0] && c.at(x+2) < .8*c.rel[0] && c.at(x+5) < .8*c.rel[0] {
			return x
		}
	}
	return math.NaN()
}

func (c *realCell) log(upto float64, every int) *logbook.History {
	p := &logbook.Pack{Head: logbook.Head{ID: c.family + c.name, Rev: 1}, Chemistry: c.chem, Series: logbook.Some(1), Parallel: logbook.Some(1), CellCapacityAh: logbook.Some(c.rated), RefTempC: logbook.Some(c.temp)}
	at := time.Date(2022, 1, 1, 0, 0, 0, 0, time.UTC)
	p.InService = at
	recs := []logbook.Record{p}
	rng := rand.New(rand.NewPCG(7, uint64(len(c.name))+uint64(upto)))
	for n := 1.0; n <= upto; n++ {
		at = at.Add(5 * time.Hour)
		q := c.rated * c.at(n) * (1 + .001*rng.NormFloat64())
		recs = append(recs, &logbook.Ride{Head: logbook.Head{ID: fmt.Sprintf("r%05d", int(n)), Rev: 1}, Pack: p.ID, At: at, End: at.Add(time.Hour), DischargedAh: logbook.Some(math.Round(q*1e4) / 1e4), Stop: "limit", AmbientC: logbook.Some(c.temp)})
	}
	h, err := logbook.NewHistory(p.ID, recs, at.Add(2*time.Hour))
	if err != nil {
		panic(err)
	}
	return h
}

func TestTryCells(t *testing.T) {
	if os.Getenv("CELLS") == "" {
		t.Skip()
	}
	for _, part := range []float64{.5, .7} {
		byFam := map[string][]float64{}
		var all []float64
		hit, n := 0, 0
		perFam := map[string]int{}
		for _, c := range realCells(t) {
			life := c.life()
			if math.IsNaN(life) || perFam[c.family] >= 4 {
				continue
			}
			perFam[c.family]++
			var lib []law.Shape
			fam := strings.SplitN(c.family, "_", 2)[0]
			if fam == "tju" {
				fam = strings.Join(strings.Split(c.family, "_")[:2], "_")
			}
			for _, s := range law.Shapes {
				if !strings.HasPrefix(s.Family, fam) {
					lib = append(lib, s)
				}
			}
			lib = append(lib, squareRoot)
			fit := fitWith(c.log(part*life, 1), lib, nil)
			cyc, _ := fit.EndOfLife(.8)
			trueEfc := 0.0
			for k := 1.0; k <= life; k++ {
				trueEfc += c.at(k) / c.rel[0]
			}
			mid, lo, hi := Quantile(cyc, .5), Quantile(cyc, .05), Quantile(cyc, .95)
			e := 100 * math.Abs(mid/trueEfc-1)
			in := lo <= trueEfc && trueEfc <= hi
			if in {
				hit++
			}
			n++
			all = append(all, e)
			byFam[c.family] = append(byFam[c.family], e)
			fmt.Printf("%.1f %-16s %-18s true %.0f est %.0f [%.0f %.0f] err %.0f%% %v\n", part, c.family, c.name, trueEfc, mid, lo, hi, e, in)
		}
		fmt.Printf("part %.1f median err %.1f%% hit %d/%d\n", part, median(all), hit, n)
	}
}
