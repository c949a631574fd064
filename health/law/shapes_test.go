package law

import (
	"encoding/csv"
	"flag"
	"fmt"
	"go/format"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the tables that are derived from the reference data")

// perFamily is how many cells of one family, the cells of one model at whatever
// temperature, the library keeps: they fade alike, and a family must not outvote
// the others by its number.
const perFamily = 5

// TestShapesAreDerived derives the library of fade shapes from the measured
// cells and compares it with shapes.go. Sources: Baumhöfer 2014 (rwth), Ma
// 2022 (hust), Birkl 2017 (oxford), Zhu 2022 (tju), Saha & Goebel 2007 (nasa),
// CALCE CS2 (calce); see the reference folder's README.
func TestShapesAreDerived(t *testing.T) {
	dir := os.Getenv("PACKWANE_REFERENCE")
	if dir == "" {
		t.Skip("PACKWANE_REFERENCE is not set")
	}
	derived := deriveShapes(t, dir)
	if *update {
		writeShapes(t, derived)
		return
	}
	if len(derived) != len(Shapes) {
		t.Fatalf("derived %d shapes, shapes.go has %d: run with -update", len(derived), len(Shapes))
	}
	for i, s := range derived {
		if s.Family != Shapes[i].Family || s.Chemistry != Shapes[i].Chemistry {
			t.Errorf("shape %d is of %s, shapes.go has %s", i, s.Family, Shapes[i].Family)
		}
		for j, loss := range s.Loss {
			if math.Abs(loss-Shapes[i].Loss[j]) > 6e-5 { // written with 4 decimals
				t.Errorf("shape %d (%s): loss at %g is %.5f, shapes.go has %.5f", i, s.Family, ShapeX[j], loss, Shapes[i].Loss[j])
			}
		}
	}
}

type fadeCurve struct {
	family, chemistry string
	cycle, rel        []float64
}

func readCurves(t *testing.T, dir string) []fadeCurve {
	var out []fadeCurve
	read := func(file string, family func(map[string]string) (string, string, string), cycle, capacity string) {
		f, err := os.Open(filepath.Join(dir, file))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		rows, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		last := ""
		for _, row := range rows[1:] {
			m := map[string]string{}
			for i, name := range rows[0] {
				m[name] = row[i]
			}
			fam, chem, cell := family(m)
			if fam+cell != last {
				last = fam + cell
				out = append(out, fadeCurve{family: fam, chemistry: chem})
			}
			c := &out[len(out)-1]
			x, err1 := strconv.ParseFloat(m[cycle], 64)
			y, err2 := strconv.ParseFloat(m[capacity], 64)
			if err1 != nil || err2 != nil {
				t.Fatalf("%s: row %v is not numbers", file, row)
			}
			c.cycle, c.rel = append(c.cycle, x), append(c.rel, y)
		}
	}
	read("ageing_curves.csv", func(m map[string]string) (string, string, string) {
		return m["set"], m["chemistry"], m["cell"]
	}, "cycle", "capacity_rel")
	read("nasa_pcoe_capacity.csv", func(m map[string]string) (string, string, string) { return "nasa_pcoe", "nca", m["cell"] }, "cycle", "discharge_capacity_ah")
	read("calce_cs2_capacity_resistance.csv", func(m map[string]string) (string, string, string) { return "calce_cs2", "lco", m["cell"] }, "cycle", "discharge_capacity_ah")
	return out
}

// deriveShapes keeps the cells that lost 20 %, at most perFamily of a family
// spread evenly over their lives, each made monotone and put on ShapeX.
func deriveShapes(t *testing.T, dir string) []Shape {
	type lived struct {
		life  float64
		shape Shape
	}
	families := map[string][]lived{}
	var order []string
	for _, c := range readCurves(t, dir) {
		start := c.rel[0]
		loss := make([]float64, len(c.rel))
		for i, r := range c.rel {
			loss[i] = 1 - r/start
		}
		monotone(loss)
		life := crossing(c.cycle, loss, .2)
		if math.IsNaN(life) {
			continue
		}
		s := Shape{Family: c.family, Chemistry: c.chemistry}
		at := func(x float64) float64 { return onLine(c.cycle, loss, c.cycle[0]+x*(life-c.cycle[0])) }
		for j, x := range ShapeX {
			s.Loss[j] = min(smooth(at, x), MaxLoss)
		}
		for j := range ShapeX { // 0.2 at 1 again, and never falling
			s.Loss[j] *= .2 / smooth(at, 1)
			if j > 0 {
				s.Loss[j] = max(s.Loss[j], s.Loss[j-1])
			}
		}
		if _, ok := families[c.family]; !ok {
			order = append(order, c.family)
		}
		families[c.family] = append(families[c.family], lived{life, s})
	}
	var out []Shape
	for _, family := range order {
		all := families[family]
		slices.SortStableFunc(all, func(a, b lived) int { return int(math.Copysign(1, a.life-b.life)) })
		n := min(perFamily, len(all))
		for i := range n {
			k := 0
			if n > 1 {
				k = i * (len(all) - 1) / (n - 1)
			}
			out = append(out, all[k].shape)
		}
	}
	return out
}

// monotone is the isotonic regression of y (pool adjacent violators), in place.
func monotone(y []float64) {
	type block struct {
		sum float64
		n   int
	}
	var blocks []block
	for _, v := range y {
		blocks = append(blocks, block{v, 1})
		for len(blocks) > 1 {
			a, b := blocks[len(blocks)-2], blocks[len(blocks)-1]
			if a.sum/float64(a.n) <= b.sum/float64(b.n) {
				break
			}
			blocks = append(blocks[:len(blocks)-2], block{a.sum + b.sum, a.n + b.n})
		}
	}
	i := 0
	for _, b := range blocks {
		for range b.n {
			y[i] = max(b.sum/float64(b.n), 0)
			i++
		}
	}
	y[0] = 0
}

// smooth is the mean of f about x, weighed by a triangle of half width 0.12,
// narrower near 0: capacity that comes back after rests leaves steps in a cell
// measured cycle by cycle that are none of its fade.
func smooth(f func(float64) float64, x float64) float64 {
	const n = 24
	width := min(.12, .5*x)
	sum, weight := 0.0, 0.0
	for k := -n; k <= n; k++ {
		u := float64(k) / n
		w := 1 - math.Abs(u)
		sum, weight = sum+w*f(x+u*width), weight+w
	}
	return sum / weight
}

func crossing(x, y []float64, level float64) float64 {
	for i := 1; i < len(x); i++ {
		if y[i-1] < level && y[i] >= level {
			return x[i-1] + (level-y[i-1])/(y[i]-y[i-1])*(x[i]-x[i-1])
		}
	}
	return math.NaN()
}

// onLine interpolates; past the last point it goes on with the mean slope of
// the last tenth of the ages.
func onLine(x, y []float64, at float64) float64 {
	n := len(x)
	if at >= x[n-1] {
		i := n - 1
		for i > 0 && x[i] > .9*x[n-1] {
			i--
		}
		return y[n-1] + (at-x[n-1])*(y[n-1]-y[i])/(x[n-1]-x[i])
	}
	i, _ := slices.BinarySearch(x, at)
	if i == 0 {
		return y[0]
	}
	return y[i-1] + (at-x[i-1])/(x[i]-x[i-1])*(y[i]-y[i-1])
}

func writeShapes(t *testing.T, shapes []Shape) {
	var b strings.Builder
	b.WriteString("// Code generated by the tests of this package with -update; DO NOT EDIT.\n\npackage law\n\n")
	b.WriteString("// Shapes is the library of measured fade shapes. Sources: T. Baumhöfer et al.,\n// J. Power Sources 247 (2014) 332 (rwth); S. Ma et al., Energy Environ. Sci. 15\n// (2022) 4083 (hust); C. Birkl, Oxford Battery Degradation Dataset 1 (2017);\n// J. Zhu et al., Nat. Commun. 13 (2022) 2261 (tju); B. Saha, K. Goebel, NASA\n// Prognostics Data Repository (2007); CALCE Battery Research Group, CS2.\nvar Shapes = []Shape{\n")
	for _, s := range shapes {
		fmt.Fprintf(&b, "{%q, %q, [...]float64{", s.Family, s.Chemistry)
		for i, v := range s.Loss {
			if i > 0 {
				b.WriteString(", ")
			}
			b.WriteString(strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64))
		}
		b.WriteString("}},\n")
	}
	b.WriteString("}\n")
	src, err := format.Source([]byte(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("shapes.go", src, 0o644); err != nil {
		t.Fatal(err)
	}
}
