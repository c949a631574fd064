package trace

import (
	"fmt"
	"math"
	"strings"
	"time"

	"packwane/health/prose"
)

// tally counts rows of one kind and keeps the first.
type tally struct{ n, first int64 }

func (t *tally) at(line int64) {
	if t.n++; t.n == 1 {
		t.first = line
	}
}

// hole is a time without rows.
type hole struct {
	line    int64
	seconds float64
	ah      float64 // that a straight line would bring, of the file's sign
}

// findings is what was odd about the rows, to be said at the end.
type findings struct {
	lay        *layout
	incomplete tally // without a possible time, voltage or current
	repeated   tally
	late       tally // behind their time
	spikes     tally
	spikeText  string
	jumps      tally
	jumpText   string
	gaps       []hole // the first mostHoles
	gapCount   int
	gapS       float64
	gapAs      float64
	bridged    tally
	bridgedS   float64
	bridgedAs  float64
	longest    float64
	sleeps     tally
	longSleep  float64
	unseen     []string
	bad        int
	firstBad   *InputError
	restarts   int
}

// mostHoles is how many gaps are named one by one.
const mostHoles = 4

func (f *findings) batch(b *batch) {
	if f.bad += b.bad; f.firstBad == nil {
		f.firstBad = b.firstBad
	}
	f.restarts += b.restarts
}

// orderly refuses a file whose rows are in no order of time.
func (f *findings) orderly(rows int64) error {
	events := f.late.n + f.jumps.n
	if f.late.n == 0 || events <= orderChance || float64(events) <= outOfOrder*float64(rows) {
		return nil
	}
	return &InputError{Row: f.late.first, Column: f.lay.name(f.lay.column(Time)), Want: fmt.Sprintf("rows out of order: %d of %d rows lie before the row above; want rows in the order of time", events, rows)}
}

func (f *findings) spike(c *cursor, h *heldRow) {
	if f.spikes.at(h.line); f.spikes.n > 1 {
		return
	}
	role, value, before := Current, h.i, c.pi
	if math.Abs(h.v-c.pv) >= c.wildV {
		role, value, before = Voltage, h.v, c.pv
	}
	f.spikeText = fmt.Sprintf("row %d, column %q: %s after %s", h.line, f.lay.name(f.lay.column(role)), brief(value), brief(before))
}

func (f *findings) jump(c *cursor, h *heldRow, back float64) {
	if f.jumps.at(h.line); f.jumps.n == 1 {
		f.jumpText = fmt.Sprintf("row %d, column %q: by %s", h.line, f.lay.name(f.lay.column(Time)), duration(back))
	}
}

func (f *findings) gap(c *cursor, h *heldRow, dt, as float64) {
	f.gapCount++
	f.gapS += dt
	f.gapAs += math.Abs(as)
	if len(f.gaps) < mostHoles {
		f.gaps = append(f.gaps, hole{h.line, dt, as / 3600})
	}
}

func (f *findings) bridge(line int64, dt, as float64) {
	f.bridged.at(line)
	f.bridgedS += dt
	f.bridgedAs += math.Abs(as)
	f.longest = max(f.longest, dt)
}

func (f *findings) sleep(line int64, dt float64) {
	f.sleeps.at(line)
	f.longSleep = max(f.longSleep, dt)
}

// unseenVolts is the share by which the rest voltage on the two sides of a gap
// must differ before charge is suspected to have flowed in it.
const unseenVolts = 0.015

// unseenCharge reports whether a pack that rests on both sides of a gap has
// another voltage behind it.
func (f *findings) unseenCharge(c *cursor, h *heldRow) bool {
	if c.class != 0 || c.classOf(h.i) != 0 || math.Abs(h.v-c.pv) < unseenVolts*c.pv {
		return false
	}
	what := "risen"
	if h.v < c.pv {
		what = "fallen"
	}
	if len(f.unseen) < mostHoles {
		f.unseen = append(f.unseen, fmt.Sprintf("row %d: %s V before, %s V behind it (%s)", h.line, brief(c.pv), brief(h.v), what))
	}
	return true
}

// warnings says all of it.
func (f *findings) warnings() []Warning {
	var out []Warning
	add := func(yes bool, code, format string, args ...any) {
		if yes {
			out = append(out, Warning{code, fmt.Sprintf(format, args...)})
		}
	}
	if f.bad > 0 {
		add(true, "bad_rows", "%s left out because they could not be read; first %v", prose.Plural(f.bad, "row"), f.firstBad)
	}
	add(f.incomplete.n > 0, "incomplete_rows", "%s without time, voltage or current left out (first row %d)", prose.Plural(f.incomplete.n, "row"), f.incomplete.first)
	add(f.restarts > 0, "headers_again", "the headers stand again between the rows %s: the logger began anew there", times(f.restarts))
	add(f.repeated.n > 0, "repeated_rows", "%s that repeat the row above left out (first row %d)", prose.Plural(f.repeated.n, "row"), f.repeated.first)
	add(f.late.n > 0, "time_jumps_back", "the time jumps back in %s and goes on from before in the next: left out (first row %d, column %q)", prose.Plural(f.late.n, "row"), f.late.first, f.lay.name(f.lay.column(Time)))
	add(f.jumps.n > 0, "time_jumps_back", "the time jumps back %s and goes on from there (first %s): cut there, nothing is counted across, and later times follow on what came before", times(int(f.jumps.n)), f.jumpText)
	add(f.spikes.n > 0, "spikes", "%s with a single wild value left out (first %s)", prose.Plural(f.spikes.n, "row"), f.spikeText)
	add(f.bridged.n > 0, "short_gaps", "%s without rows, %s at most, bridged by a straight line: %s s and %s Ah in all (first before row %d)",
		prose.Plural(f.bridged.n, "short gap"), duration(f.longest), brief(f.bridgedS), brief(f.bridgedAs/3600), f.bridged.first)
	add(f.sleeps.n > 0, "sleeps", "the logger slept in rests and woke up with the current %s, %s at the longest (first before row %d)", times(int(f.sleeps.n)), duration(f.longSleep), f.sleeps.first)
	if f.gapCount > 0 {
		var each []string
		for _, g := range f.gaps {
			each = append(each, fmt.Sprintf("%s before row %d (%s Ah)", duration(g.seconds), g.line, brief(math.Abs(g.ah))))
		}
		if f.gapCount > len(f.gaps) {
			each = append(each, "…")
		}
		add(true, "gaps", "%s without rows, %s in all: %s; nothing is counted there, a straight line between the currents on both sides would bring the Ah in brackets",
			prose.Plural(f.gapCount, "gap"), duration(f.gapS), strings.Join(each, ", "))
	}
	add(len(f.unseen) > 0, "unseen_charge", "the rest voltage differs across a gap, so charge flowed that the file does not show: %s", strings.Join(f.unseen, "; "))
	return out
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// duration writes seconds for a sentence.
func duration(s float64) string {
	if s < 120 {
		return brief(s) + " s"
	}
	return time.Duration(math.Round(s) * 1e9).String()
}
