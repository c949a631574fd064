package model

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The problem of BenchmarkSolver: draws of one invented curve of four
// parameters, y = a·exp(-b·x) + c + d·x at points of [0, 1), with noise and some
// misreadings, each fitted robustly from one start.
const (
	solverDraws  = 500
	solverPoints = 1000
	solverSigma  = .02
)

var (
	solverTruth = [4]float64{1.3, 4, .4, -.2}
	solverStart = [4]float64{1, 3, .5, 0}
)

// solverCurve is one draw, with the Jacobian written out.
type solverCurve struct {
	y    []float64
	z    [4]float64
	exp  []float64 // exp(-b·x) at the last point
	r    []float64
	cols []column
	none *mat.SymDense
}

func solverX(i int) float64 { return float64(i) / solverPoints }

func (s *solverCurve) cost(z []float64) float64 {
	copy(s.z[:], z)
	a, b, c, d := solverStart[0]+z[0], solverStart[1]+z[1], solverStart[2]+z[2], solverStart[3]+z[3]
	sum := newDeviances()
	for i, y := range s.y {
		x := solverX(i)
		s.exp[i] = math.Exp(-b * x)
		s.r[i] = (y - a*s.exp[i] - c - d*x) / solverSigma
		sum.add(s.r[i], true)
	}
	return sum.sum()
}

func (s *solverCurve) normal([]float64) (*mat.SymDense, []float64) {
	a := solverStart[0] + s.z[0]
	whitened := make([]float64, len(s.r))
	for i, r := range s.r {
		root := math.Sqrt(weight(r))
		x, k := solverX(i), -root/solverSigma
		s.cols[0].d[i], s.cols[1].d[i], s.cols[2].d[i], s.cols[3].d[i] = k*s.exp[i], -k*a*x*s.exp[i], k, k*x
		whitened[i] = r * root
	}
	sum := newNormalSum(len(s.cols))
	sum.add(s.cols, whitened)
	return sum.a, sum.g
}

func (s *solverCurve) prior() *mat.SymDense { return s.none }

// solverData invents the draws; misreadings stand ten deviations off.
func solverData() [][]float64 {
	rng := rand.New(rand.NewPCG(11, 12))
	draws := make([][]float64, solverDraws)
	for k := range draws {
		draws[k] = make([]float64, solverPoints)
		for i := range draws[k] {
			x, noise := solverX(i), rng.NormFloat64()
			if rng.IntN(50) == 0 {
				noise *= 10
			}
			draws[k][i] = solverTruth[0]*math.Exp(-solverTruth[1]*x) + solverTruth[2] + solverTruth[3]*x + solverSigma*noise
		}
	}
	return draws
}

// BenchmarkSolver fits every draw and reports the sum of the costs at the ends.
// With PACKWANE_SOLVER_DATA it writes the draws there first (little-endian
// float64), for others to fit.
func BenchmarkSolver(b *testing.B) {
	draws := solverData()
	if name := os.Getenv("PACKWANE_SOLVER_DATA"); name != "" {
		var out []byte
		for _, draw := range draws {
			for _, y := range draw {
				out = binary.LittleEndian.AppendUint64(out, math.Float64bits(y))
			}
		}
		if err := os.WriteFile(name, out, 0o666); err != nil {
			b.Fatal(err)
		}
	}
	total := 0.0
	for b.Loop() {
		total = 0
		for _, y := range draws {
			s := &solverCurve{y: y, exp: make([]float64, len(y)), r: make([]float64, len(y)), cols: make([]column, 4), none: mat.NewSymDense(4, nil)}
			for j := range s.cols {
				s.cols[j].d = make([]float64, len(y))
			}
			z := make([]float64, 4)
			_, cost, status := minimise(s, z, 1e-6, mostIterations)
			for range 5 {
				if status == Converged {
					break
				}
				_, cost, status = minimise(s, z, 1e-6, mostIterations) // it stops after a few rounds
			}
			total += cost
		}
	}
	b.ReportMetric(total, "cost")
	b.ReportMetric(float64(b.Elapsed().Seconds())/float64(b.N), "s/500-draws")
}
