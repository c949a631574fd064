package report

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"packwane/health/model"
)

// TestHindcastSaysWhatCame: a resistance of two volts and a current, 0.7 V
// under 8.6 A here, is no round number; it is told to nine figures, as every
// other figure is.
func TestHindcastSaysWhatCame(t *testing.T) {
	var lines strings.Builder
	lines.WriteString(`{"record":"pack","id":"heron-a","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"cell_full_v":4.2,"limit_v":31}` + "\n")
	for i := range 6 {
		fmt.Fprintf(&lines, `{"record":"check","id":"k%d","pack":"heron-a","at":"2026-0%d-01T09:00:00Z","rest_v":40.1,"load_v":39.4,"load_a":8.6,"pulse_s":10,"soc_pct":80,"pack_c":20}`+"\n", i, i+1)
	}
	h := pastOf(t, records(t, lines.String()), "heron-a", at(t, "2026-07-01T00:00:00Z"))
	got := HindcastOf(h, plainFit)
	if len(got.Forecasts) == 0 {
		t.Fatal("nothing is forecast")
	}
	once := map[string]bool{}
	for _, f := range got.Forecasts {
		if key := f.MadeAt + f.Record + f.Quantity; once[key] {
			t.Errorf("forecast twice: %+v", f)
		} else {
			once[key] = true
		}
	}
	measured := model.MeasuredMohm(h.Checks[0])
	for _, f := range got.Forecasts {
		text, err := json.Marshal(f.Came)
		if err != nil {
			t.Fatal(err)
		}
		if !regexp.MustCompile(`^[0-9]{2}\.[0-9]{1,7}$`).Match(text) || f.Came/measured < 1-1e-8 || f.Came/measured > 1+1e-8 {
			t.Errorf("came: %s, want %v to nine figures", text, measured)
		}
	}
}
