package model

import (
	"fmt"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbgLevel(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("LEVEL"))
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
		np := len(fit.z)
		e := mat.NewVecDense(np, nil)
		nk := len(fit.m.knots)
		for k := 1; k < nk; k++ {
			e.SetVec(numScalars+k, 1/float64(nk-1))
		}
		var chol mat.Cholesky
		chol.Factorize(fit.order.hessian)
		var v mat.VecDense
		chol.SolveVecTo(&v, e)
		tot := mat.Dot(e, &v)
		fit.f.p.base(fit.z)
		cols, _ := fit.f.jacobian(fit.z)
		jv := make([]float64, len(fit.f.p.tape))
		for j := range cols {
			for k, d := range cols[j].d {
				jv[cols[j].lo+k] += d * v.AtVec(j)
			}
		}
		by := map[string]float64{}
		for k, x := range jv {
			tp := fit.f.p.tape[k]
			ev := 9
			if tp.event >= 0 {
				ev = int(fit.m.events[tp.event].kind)
			}
			by[fmt.Sprintf("obs%d/%d", tp.kind, ev)] += x * x / tot
		}
		for j := 0; j < np; j++ {
			x := v.AtVec(j)
			if q := x * x / tot; q > .02 {
				by["prior "+fit.m.params[j].name] += q
			}
		}
		fmt.Printf("seed %d sd %.4f:", seed, knotSd*mat.Dot(e, &v)/(1e-300+sqrt(tot)))
		for k, x := range by {
			if x > .02 {
				fmt.Printf(" %s %.2f", k, x)
			}
		}
		fmt.Println()
	}
}
func sqrt(x float64) float64 {
	z := x
	for range 60 {
		z = (z + x/z) / 2
	}
	return z
}
