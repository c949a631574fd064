package gpx

import (
	"fmt"

	"packwane/health/prose"
)

// warnings lists what stands behind the figures that a reader should know.
func warnings(t *Track, a arranged, w *walker, m *meter, s *Summary) []Warning {
	var out []Warning
	say := func(code, format string, args ...any) {
		out = append(out, Warning{code, fmt.Sprintf(format, args...)})
	}
	if t.isRoute {
		say("route_only", "the file holds a planned route and no track: nothing says that it was ridden so")
	}
	if !a.timed {
		say("no_times", "the points have no times to go by: speeds and stops are unknown, and jitter while standing counts as distance")
	}
	if !s.DistanceKm.OK {
		say("too_short", "the track has fewer than two points to go by: nothing can be measured")
	}
	if !s.ClimbM.OK {
		say("no_elevation", "the points have no elevations: climb and descent are unknown")
	}
	sayFaults(t, a, say)
	sayBreaks(w, m, say)
	sayDoubts(m, s, say)
	return out
}

type sayer func(code, format string, args ...any)

// sayFaults tells of points that were not as they should be.
func sayFaults(t *Track, a arranged, say sayer) {
	if n := t.faults.times; n.n > 0 {
		say("bad_times", "%s that cannot be read, the first in line %d", prose.Plural(n.n, "time"), n.line)
	}
	if n := t.faults.elevations; n.n > 0 {
		say("bad_elevations", "%s that cannot be read or be true, the first in line %d", prose.Plural(n.n, "elevation"), n.line)
	}
	if a.untimed > 0 {
		say("untimed_points", "%s without a time left out", prose.Plural(a.untimed, "point"))
	}
	if a.shuffled.n > 0 {
		say("out_of_order", "%s earlier than the one before, the first in line %d: the points were put in order", prose.Plural(a.shuffled.n, "point"), a.shuffled.line)
	}
	if a.doubles > 0 {
		say("doubled_times", "%s left out whose time another point has", prose.Plural(a.doubles, "point"))
	}
}

// sayBreaks tells of points left out and of ways not recorded.
func sayBreaks(w *walker, m *meter, say sayer) {
	if n := w.jumps.n + m.spikes.n; n > 0 {
		line := w.jumps.line
		if line == 0 || m.spikes.n > 0 && m.spikes.line < line {
			line = m.spikes.line
		}
		say("jumps", "%s left out that no vehicle of this track could have reached, the first in line %d", prose.Plural(n, "point"), line)
	}
	if g := m.gaps; g.n > 0 {
		say("gaps", "%s in reception, %.1f km and %.0f min in all: counted straight across", prose.Plural(g.n, "gap"), g.metres/1000, g.s/60)
	}
	if l := m.lost; l.n > 0 {
		say("not_recorded", "%s between parts of the track, %.1f km straight across: not counted", prose.Plural(l.n, "break"), l.metres/1000)
	}
}

const (
	doubtShare = 0.3 // of the climb that hangs on small turns
	doubtM     = 10.0
	noisyM     = 5.0
	sparseS    = 8.0
)

// sayDoubts tells of figures that noise has blurred.
func sayDoubts(m *meter, s *Summary, say sayer) {
	if m.survey.doubted {
		say("speeds_ignored", "the speeds in the points do not fit their positions (want m/s): speeds are taken from the positions")
	}
	fine, rough := m.profile.fine, m.profile.rough
	if lost := fine.climbM + fine.descentM - rough.climbM - rough.descentM; lost > 2*doubtM && lost > doubtShare*(fine.climbM+fine.descentM) {
		say("climb_uncertain", "%.0f of %.0f m of climb are small ups and downs, near the noise of the elevations", fine.climbM-rough.climbM, fine.climbM)
	}
	if s.MovingMin.OK && m.survey.stepS > sparseS {
		say("sparse", "the points are %.0f s apart: the distance cuts corners, and short stops do not show", m.survey.stepS)
	}
	if s.MovingMin.OK && m.survey.noiseM > noisyM {
		say("noisy", "positions scatter by %.0f m from point to point: the distance may be off by some percent", m.survey.noiseM)
	}
}
