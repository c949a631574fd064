package cli

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// The scripts of track have one more command:
//
//	maketrack FILE METRES   make an invented track: east at 6 m/s from 9 o'clock
//	                        on 1 May 2026 (UTC), a point a second, a rise of 10 m
//	                        over each first half kilometre and a fall over each
//	                        second, and 60 s at rest at half the way
func init() { commands["maketrack"] = cmdMakeTrack }

func cmdMakeTrack(ts *testscript.TestScript, _ bool, args []string) {
	metres, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"invented\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n<trk><name>invented</name><trkseg>\n")
	at := time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC)
	rest := 60
	for s := 0.0; s <= metres; at = at.Add(time.Second) {
		height := 10 - 0.02*abs(float64(int(s)%1000)-500)
		// A degree of longitude is 111 319.49 m on the equator of WGS 84.
		fmt.Fprintf(&b, "<trkpt lat=\"0\" lon=\"%.8f\"><ele>%.2f</ele><time>%s</time></trkpt>\n", s/111319.4908, 300+height, at.Format(time.RFC3339))
		if s >= metres/2 && rest > 0 {
			rest--
			continue
		}
		s += 6
	}
	b.WriteString("</trkseg></trk>\n</gpx>\n")
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o644))
}

func abs(v float64) float64 { return max(v, -v) }
