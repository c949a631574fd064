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

func TestDbgMonthly(t *testing.T) {
	seed, _ := strconv.Atoi(os.Getenv("MON"))
	if seed == 0 {
		t.Skip()
	}
	log, _ := simulate.Run(simulate.Preset(simulate.Monthly, uint64(seed)))
	h, _ := logbook.NewHistory(onlyPack(log.Records), log.Records, log.Truth.End)
	fit := FitHistory(h, nil)
	for i := range fit.m.events {
		e := &fit.m.events[i]
		c := &fit.f.p.carry[i]
		fmt.Printf("%s %s stop %s full %d hold %.0f gap %.2f x0 %.3f(%.3f) q %.2f ah %.2f cap %.3f packC %.1f unl %.1f unseen %v %.2f reset %v |", e.id, timeOfDay(e.startDay).Format("2006-01-02"), e.stop, e.full, e.holdMin, e.gapDays, c.x0, math.Sqrt(c.start.p), c.qAh, e.ah, math.Exp(fit.f.p.c.lnCapacity(e)), e.packC, e.unloggedKm, c.unseen, c.unseenTook, c.reset)
		for k := fit.f.p.rowOf(i); k < fit.f.endRow(i); k++ {
			tp := fit.f.p.tape[k]
			fmt.Printf(" %d:%.1f(%.4f)%v", tp.kind, tp.resid, tp.innovation, tp.rejected)
		}
		if rt, ok := log.Truth.Ride(e.id); ok {
			fmt.Printf(" TRUE level %.3f spread %.3f", rt.Drive.Level, rt.Drive.Spread)
		}
		fmt.Println()
	}
	tr := log.Truth.At(log.Truth.End)
	fmt.Println(tr.CapacityAh, log.Truth.AsNew().CapacityAh)
}
