package model

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

func TestDbg(t *testing.T) {
	seed, _ := strconv.Atoi(os.Getenv("DBG"))
	if seed == 0 {
		t.Skip()
	}
	st, _ := strconv.Atoi(os.Getenv("ST"))
	log, err := simulate.Run(simulate.Preset(simulate.Style(st), uint64(seed)))
	if err != nil {
		t.Fatal(err)
	}
	var pack string
	for _, r := range log.Records {
		if p, ok := r.(*logbook.Pack); ok {
			pack = p.ID
			fmt.Println(string(logbook.AppendJSON(nil, p)))
		}
	}
	k := 0
	for _, r := range log.Records {
		if _, ok := r.(*logbook.Ride); ok {
			if k++; k%25 == 1 {
				fmt.Println(string(logbook.AppendJSON(nil, r)))
			}
		}
		if _, ok := r.(*logbook.Charge); ok && k%25 == 1 {
			fmt.Println(string(logbook.AppendJSON(nil, r)))
		}
	}
	h, _ := logbook.NewHistory(pack, log.Records, log.Truth.End)
	fit := FitHistory(h, nil)
	for i, p := range fit.m.params {
		d := fit.each(func(d *draw) float64 { return 0 })
		_ = d
		fmt.Printf("%2d %-22s z %+.2f value %.4g  sd(z) %.2f\n", i, p.name, fit.z[i], p.value(fit.z[i]), math.Sqrt(fit.postVar(i)))
	}
	for _, kind := range []obsKind{obStartV, obAh, obWh, obDistance, obEndV, obOhm} {
		for ev := evRide; ev <= evCheck; ev++ {
			var r []float64
			rej := 0
			for _, tp := range fit.f.p.tape {
				if tp.kind == kind && tp.event >= 0 && fit.m.events[tp.event].kind == ev {
					if tp.rejected {
						rej++
					} else {
						r = append(r, tp.resid)
					}
				}
			}
			if len(r) > 0 {
				fmt.Printf("obs %d ev %d n %d median %.2f robust sd %.2f rej %d\n", kind, ev, len(r), median(r), robustSd(r), rej)
			}
		}
	}
	for _, rd := range log.Truth.Reference(log.Truth.End) {
		fmt.Printf("%+v\n", rd)
		o := log.Truth.Go(rd)
		fmt.Printf("%+v\n", o)
	}
	fmt.Printf("%+v\n%+v\nref %+v\n", fit.m.usual, fit.m.season, fit.m.ref)
}
