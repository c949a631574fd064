package model_test

import (
	"math"
	"os"
	"runtime"
	"strconv"
	"sync"
	"testing"

	"packwane/health/model"
)

// envCount returns the whole number that an environment variable holds, else
// usual, and a quarter of that with -short. PACKWANE_LONG makes the tests that
// repeat over seeds repeat that often.
func envCount(name string, usual int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil && n > 0 {
		return n
	}
	if testing.Short() {
		return (usual + 3) / 4
	}
	return usual
}

// inParallel calls f with 0 to n-1 on all processors.
func inParallel(n int, f func(i int)) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.NumCPU() {
		wg.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

func middleOf(v []float64) float64 { return model.Quantile(v, .5) }

// round3 keeps three figures.
func round3(v float64) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if math.IsNaN(r) {
		return 0
	}
	return r
}
