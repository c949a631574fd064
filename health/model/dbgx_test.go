package model_test

import (
	"fmt"
	"testing"

	"packwane/health/model"
	"packwane/health/simulate"
)

func TestDbgX(t *testing.T) {
	for _, seed := range seeds(1, 2) {
		h, fit, truth := simulated(t, simulate.Rich, seed)
		step := max(1, len(h.Rides)/6)
		ref := truth.Reference(truth.End)[0]
		fmt.Printf("ref speed %.1f kg %.1f restless %.2f model ref %+v\n", ref.SpeedKmh, ref.Rider.Kg, ref.Rider.Restless, fit.Reference())
		for k := step / 2; k < len(h.Rides); k += step {
			r := h.Rides[k]
			tr, _ := truth.Ride(r.ID)
			x, _ := fit.Explain(r)
			s := truth.Explain(tr)
			fmt.Printf("ref %.2f ride %.2f  v %.1f (log %v sd %v) restless %.2f %s stop %s wind %.1f rec %v/%v climb %.1f shape %s rise %.1f rec %v %v km %.1f\n", s.ReferenceKm, s.RideKm, tr.Drive.SpeedKmh, r.MovingSpeedKmh, r.SpeedSdKmh.V, tr.Drive.Rider.Restless, tr.Drive.Rider.Name, r.Stop, tr.Drive.WindKmh*tr.Drive.Route.Exposure, r.HeadwindKmh, r.WindKmh, tr.Drive.Route.ClimbMKm, r.Shape, tr.Drive.Route.RiseMKm, r.ClimbM.V, r.DescentM.V, r.DistanceKm.V)
			for i, c := range model.Causes {
				m := 0.0
				for _, v := range x.Km[i] {
					m += v / 400
				}
				fmt.Printf("   %-14s truth %+.2f model %+.2f (%.2f..%.2f)\n", c, s.Km[i], m, model.Quantile(x.Km[i], .05), model.Quantile(x.Km[i], .95))
			}
			fmt.Printf("   unexplained truth %.2f model %.2f..%.2f ride %.2f\n", s.UnexplainedKm, model.Quantile(x.UnexplainedKm, .05), model.Quantile(x.UnexplainedKm, .95), model.Quantile(x.RideKm, .5))
		}
	}
}
