package logbook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"
)

// benchLine is one invented ride as a log holds it.
var benchLine = []byte(`{"record":"ride","id":"fleet-0000-ride-0001","pack":"fleet-0000","board":"deck-0000","at":"2024-03-07T07:38:00+01:00","end":"2024-03-07T07:53:00+01:00",` +
	`"distance_km":5.71,"odometer_km":355.7,"moving_speed_kmh":27.1,"moving_min":13,"speed_sd_kmh":3.8,"start_rest_v":50.21,"end_rest_v":49,"end_rest_min":60,"min_v":46.3,` +
	`"peak_a":18,"discharged_ah":2.03,"discharged_wh":97.2,"ambient_c":6,"pack_c":18,"tyre_kpa":390,"rider":"ada","headwind_kmh":-1,"climb_m":5,"descent_m":10,"route":"to work","stop":"chosen"}`)

// plainRide is a ride as one would write it for encoding/json: what is absent
// stays nil.
type plainRide struct {
	Record         string     `json:"record"`
	ID             string     `json:"id"`
	Rev            int        `json:"rev"`
	Removed        bool       `json:"removed"`
	Pack           string     `json:"pack"`
	Board          string     `json:"board"`
	At             *time.Time `json:"at"`
	End            *time.Time `json:"end"`
	DistanceKm     *float64   `json:"distance_km"`
	OdometerKm     *float64   `json:"odometer_km"`
	MovingSpeedKmh *float64   `json:"moving_speed_kmh"`
	MovingMin      *float64   `json:"moving_min"`
	SpeedSdKmh     *float64   `json:"speed_sd_kmh"`
	StartRestV     *float64   `json:"start_rest_v"`
	EndRestV       *float64   `json:"end_rest_v"`
	EndRestMin     *float64   `json:"end_rest_min"`
	MinV           *float64   `json:"min_v"`
	PeakA          *float64   `json:"peak_a"`
	DischargedAh   *float64   `json:"discharged_ah"`
	DischargedWh   *float64   `json:"discharged_wh"`
	RegenAh        *float64   `json:"regen_ah"`
	RegenWh        *float64   `json:"regen_wh"`
	Meter          string     `json:"meter"`
	ErrorPct       *float64   `json:"error_pct"`
	AmbientC       *float64   `json:"ambient_c"`
	PackC          *float64   `json:"pack_c"`
	TyreKpa        *float64   `json:"tyre_kpa"`
	Rider          string     `json:"rider"`
	RiderKg        *float64   `json:"rider_kg"`
	HeadwindKmh    *float64   `json:"headwind_kmh"`
	WindKmh        *float64   `json:"wind_kmh"`
	WindFromDeg    *float64   `json:"wind_from_deg"`
	Shape          string     `json:"shape"`
	ClimbM         *float64   `json:"climb_m"`
	DescentM       *float64   `json:"descent_m"`
	Route          string     `json:"route"`
	Session        string     `json:"session"`
	Stop           string     `json:"stop"`
	Note           string     `json:"note"`
}

// BenchmarkDecode decodes one line strictly, with names, ranges and times
// checked, and the same line with encoding/json into a struct, unknown names
// refused. The last prints how many times as fast the first is, in one run.
func BenchmarkDecode(b *testing.B) {
	strict := func() {
		if _, err := ParseJSON(benchLine); err != nil {
			b.Fatal(err)
		}
	}
	plain := func() {
		d := json.NewDecoder(bytes.NewReader(benchLine))
		d.DisallowUnknownFields()
		var r plainRide
		if err := d.Decode(&r); err != nil {
			b.Fatal(err)
		}
	}
	unmarshal := func() {
		var r plainRide
		if err := json.Unmarshal(benchLine, &r); err != nil {
			b.Fatal(err)
		}
	}
	for _, way := range []struct {
		name   string
		decode func()
	}{{"strict", strict}, {"encoding_json_strict", plain}, {"encoding_json", unmarshal}} {
		b.Run(way.name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(benchLine)))
			for b.Loop() {
				way.decode()
			}
		})
	}
	b.Run("ratio", func(b *testing.B) {
		var own, plainly, strictly []time.Duration
		for b.Loop() { // in turn, so that all see the same machine
			for range 20 {
				own, plainly, strictly = append(own, timed(strict)), append(plainly, timed(unmarshal)), append(strictly, timed(plain))
			}
		}
		for _, times := range [][]time.Duration{own, plainly, strictly} {
			slices.Sort(times)
		}
		mid := len(own) / 2
		b.ReportMetric(float64(plainly[mid])/float64(own[mid]), "times-as-fast")
		b.ReportMetric(float64(strictly[mid])/float64(own[mid]), "times-as-fast-as-strict")
	})
}

// timed returns how long 50 calls take.
func timed(f func()) time.Duration {
	began := time.Now()
	for range 50 {
		f()
	}
	return time.Since(began)
}

// BenchmarkRead reads and validates a file of 10,000 rides.
func BenchmarkRead(b *testing.B) {
	const n = 10_000
	var file bytes.Buffer
	for i := range n {
		file.Write(bytes.Replace(benchLine, []byte("ride-0001"), fmt.Appendf(nil, "ride-%d", i), 1))
		file.WriteByte('\n')
	}
	b.SetBytes(int64(file.Len()))
	b.ReportAllocs()
	for b.Loop() {
		count := 0
		for _, err := range Read(bytes.NewReader(file.Bytes()), "in") {
			if err != nil {
				b.Fatal(err)
			}
			count++
		}
		if count != n {
			b.Fatal(count)
		}
	}
}
