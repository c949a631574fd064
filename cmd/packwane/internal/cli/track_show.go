package cli

import (
	"fmt"
	"math"
	"strconv"

	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/gpx"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/report"
	"packwane/health/units"
)

// trackJSON is the document of track.
type trackJSON struct {
	gpx.Document
	Record  *stored    `json:"record,omitempty"`
	Changed *bool      `json:"changed,omitempty"` // false where the store held the very same
	Filled  []string   `json:"filled,omitempty"`
	Kept    []gpx.Kept `json:"kept,omitempty"`
	Slips   []slipJSON `json:"slips,omitempty"`
}

func (a *app) showTrack(s *gpx.Summary, on *trackOn, k *keptTrack, file string) error {
	if a.json {
		return a.printJSON(trackDocument(s, k))
	}
	if err := a.showFigures(s, on.who, file); err != nil || k == nil {
		return err
	}
	verb := on.verb()
	if k.d.known {
		verb = k.d.same
	}
	fmt.Fprintln(a.streams.Out)
	if err := a.showKept(k.d, verb); err != nil {
		return err
	}
	for _, o := range k.other {
		if _, err := fmt.Fprint(a.streams.Out, wrap("  ", keptWords(o, on.who), a.streams.width())); err != nil {
			return err
		}
	}
	return nil
}

// keptWords says which figure of a ride stays although the track tells another.
func keptWords(k gpx.Kept, who typed.Rider) string {
	f, _ := logbook.FieldNamed(logbook.KindRide, k.Field)
	show := func(text string) string { return typed.ShowText(logbook.KindRide, f, text, who) }
	return fmt.Sprintf("%s stays as logged, %s; the track says %s", typed.Label(f), show(k.Has), show(k.Track))
}

func trackDocument(s *gpx.Summary, k *keptTrack) trackJSON {
	doc := trackJSON{Document: s.Document()}
	if k == nil {
		return doc
	}
	changed := !k.d.known
	doc.Record, doc.Changed, doc.Filled, doc.Kept = &stored{k.d.record}, &changed, k.filled, k.other
	for _, slip := range k.d.slips {
		doc.Slips = append(doc.Slips, slipJSON{slip.Field, slip.Code, slipWords(slip, k.d.record, k.d.who)})
	}
	return doc
}

// trackDecimals is how many decimals a receiver can mean.
var trackDecimals = map[units.Unit]int{units.Km: 2, units.Kmh: 1, units.Min: 1}

// showFigures prints what the track tells.
func (a *app) showFigures(s *gpx.Summary, who typed.Rider, file string) error {
	var list []report.Warning
	for _, w := range s.Warnings {
		list = append(list, report.Warning{Code: w.Code, Text: w.Text})
	}
	f := newFigures(who.System, list)
	measured := func(label string, n logbook.Num, u units.Unit, codes ...string) *figureLine {
		l := f.said(label, units.Unknown)
		l.texts = f.beside.Beside(codes...)
		if n.OK {
			v, symbol := units.In(n.V, u, who.System)
			scale := math.Pow10(trackDecimals[u])
			l.Value, l.Symbol = strconv.FormatFloat(math.Round(v*scale)/scale+0, 'f', trackDecimals[u], 64), symbol // + 0: no -0
		}
		return l
	}
	f.head("The way")
	measured("distance", s.DistanceKm, units.Km, "too_short", "noisy")
	measured("climb", s.ClimbM, units.Metre, "no_elevation", "climb_uncertain")
	measured("descent", s.DescentM, units.Metre, "no_elevation")
	if s.HeadwindKmh.OK {
		measured("headwind, mean", s.HeadwindKmh, units.Kmh)
	}
	if s.Shape != "" {
		f.said("shape", prose.Spaced(s.Shape))
	}
	f.head("The riding")
	measured("speed on the move", s.MovingSpeedKmh, units.Kmh, "no_times")
	measured("its deviation", s.SpeedSdKmh, units.Kmh, "no_times").piped = "standard deviation of the speed"
	steady := f.said("steady", units.Unknown)
	steady.texts = f.beside.Beside("no_times")
	if s.SteadyShare.OK {
		steady.Value, steady.Symbol = fmt.Sprintf("%.0f", 100*s.SteadyShare.V), "%"
		steady.remark = "of the time within " + pictures.SpeedText(s.WithinKmh, who.System) + " of " + pictures.SpeedText(s.TargetKmh.V, who.System)
	}
	measured("on the move", s.MovingMin, units.Min, "no_times")
	stopped := measured("at rest", s.StoppedMin, units.Min, "no_times")
	if n := len(s.Stops); n > 0 {
		stopped.remark = prose.Plural(n, "stop")
	}
	if a.streams.OutTerminal {
		a.drawSpeeds(f, s)
		when := ""
		if !s.Start.IsZero() {
			when = ", " + units.FormatTime(s.Start.In(a.now.Location()), a.now)
		}
		fmt.Fprintln(a.streams.Out, a.ink().head(clean(file))+when)
	}
	return a.writeFigures(f, a.streams.OutTerminal)
}

// drawSpeeds adds a small picture of the speed over the distance.
func (a *app) drawSpeeds(f *figures, s *gpx.Summary) {
	if len(s.Series) < 4 {
		return
	}
	var v []float64
	for _, p := range s.Series {
		v = append(v, p.SpeedKmh)
	}
	f.draw("speed over the way", units.Spark(units.Shrink(v, sparkColumns)))
}
