package model

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbgVar(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("VARS"))
	if n == 0 {
		t.Skip()
	}
	st, _ := strconv.Atoi(os.Getenv("ST"))
	for seed := 1; seed <= n; seed++ {
		log, _ := simulate.Run(simulate.Preset(simulate.Style(st), uint64(seed)))
		var pack string
		for _, r := range log.Records {
			if p, ok := r.(*logbook.Pack); ok {
				pack = p.ID
			}
		}
		h, _ := logbook.NewHistory(pack, log.Records, log.Truth.End)
		fit := FitHistory(h, nil)
		lnc := func(z []float64) float64 {
			var c cellState
			fit.m.decode(z, &c)
			return math.Log(c.reference(fit.m, c.lnC[len(c.lnC)-1], 0, 0, 25, &fit.m.ref.trip).whPerKm)
		}
		np := len(fit.z)
		g := mat.NewVecDense(np, nil)
		z := append([]float64{}, fit.z...)
		for i := range z {
			z[i] += 1e-3
			a := lnc(z)
			z[i] -= 2e-3
			b := lnc(z)
			z[i] += 1e-3
			g.SetVec(i, (a-b)/2e-3)
		}
		var chol mat.Cholesky
		chol.Factorize(fit.order.hessian)
		var x mat.VecDense
		chol.SolveVecTo(&x, g)
		v := mat.Dot(&x, g)
		now := fit.At(log.Truth.End)
		truth := log.Truth.At(log.Truth.End)
		fmt.Printf("seed %d lnc laplace sd %.4f draws %.4f err %.4f routes %v:", seed, math.Sqrt(v), spread(func() Draws {
			d := make(Draws, len(now.WhPerKm))
			for i := range d {
				d[i] = math.Log(now.WhPerKm[i])
			}
			return d
		}()), math.Log(Quantile(now.WhPerKm, .5)/truth.ConsumptionWhKm), h.Pack.RefRoute)
		for i := range z {
			if c := g.AtVec(i) * x.AtVec(i); math.Abs(c) > .1*v {
				fmt.Printf(" %s g%.3f c%.2f", fit.m.params[i].name, g.AtVec(i), c/v)
			}
		}
		fmt.Println()
	}
}
