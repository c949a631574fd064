package model

import (
	"fmt"
	"os"
	"syscall"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func cpu() float64 {
	var u syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return float64(u.Utime.Sec)*1e3 + float64(u.Utime.Usec)/1e3 + float64(u.Stime.Usec)/1e3 + float64(u.Stime.Sec)*1e3
}

func TestCPUScratch(t *testing.T) {
	if os.Getenv("CPU") == "" {
		t.Skip()
	}
	for _, y := range years() {
		for _, st := range []simulate.Style{simulate.Rich, simulate.Flat, simulate.Messy} {
			cfg := simulate.Preset(st, 3)
			cfg.Years = y
			log, err := simulate.Run(cfg)
			if err != nil {
				t.Fatal(err)
			}
			h, _ := logbook.NewHistory(onlyPack(log.Records), log.Records, log.Truth.End)
			a := cpu()
			f := FitHistory(h, nil)
			b := cpu()
			Restore(h, f.Keep(), nil)
			c := cpu()
			fmt.Printf("%v records %d params %d tape %d: fit %.0f ms restore %.0f ms status %s\n", st, len(log.Records), len(f.z), len(f.f.p.tape), b-a, c-b, f.Status)
		}
	}
}

func years() []float64 {
	if os.Getenv("CPU") == "2" {
		return []float64{2}
	}
	return []float64{2, 5, 18}
}
