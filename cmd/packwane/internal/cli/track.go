package cli

import (
	"io"
	"os"
	"runtime/debug"

	"github.com/spf13/cobra"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/gpx"
	"packwane/health/logbook"
	"packwane/health/units"
	"packwane/store"
)

// tracking is what a call of track asks for.
type tracking struct {
	ride, pack, board            string
	target, within, wind, windAt string
	chart                        string
}

func newTrack(a *app) *cobra.Command {
	var t tracking
	c := &cobra.Command{
		Use: "track FILE.gpx", Short: "Measure a ride from its GPS track", GroupID: groupLog,
		Long: `Reads a GPX file and tells how far it went, how fast and how steadily on the
move (stops left out), how much up and down, and against which share of the
wind. Jumps of the receiver are left out, noise is smoothed, and standing adds
no distance.

With --ride, fields of that ride that were not measured are filled in; what it
has already stays, and differences are told. With --pack, the track is logged
as a new ride. No positions are kept.

The speed counts as steady within --within of the target: --target, else the
pack's reference speed, else the mean on the move.`,
		Example: `  packwane track evening.gpx --target 20km/h --within 2km/h
  packwane track evening.gpx --pack kite-a --wind 12km/h --wind-from 240
  packwane track evening.gpx --ride ride-k3f9x2m7qa5c --chart pace.svg`,
		Args: between(1, 1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"gpx"}, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	f := c.Flags()
	f.StringVar(&t.ride, "ride", "", "fill in the logged ride `ID`")
	f.StringVar(&t.pack, "pack", "", "log a new ride of the pack `PACK`")
	f.StringVar(&t.board, "board", "", "the `BOARD` of the new ride (else the one last ridden with the pack)")
	f.StringVar(&t.target, "target", "", "the `SPEED` that was to be held")
	f.StringVar(&t.within, "within", "", "how far off the target still counts as held (2 km/h)")
	f.StringVar(&t.wind, "wind", "", "mean `SPEED` of the wind")
	f.StringVar(&t.windAt, "wind-from", "", "where it came from, `DEGREES` clockwise from north")
	f.StringVar(&t.chart, "chart", "", "draw the speed over the distance to `FILE` (.svg or .png)")
	c.RegisterFlagCompletionFunc("ride", a.completeRides)
	c.RegisterFlagCompletionFunc("pack", a.completeFlag(logbook.KindPack))
	c.RegisterFlagCompletionFunc("board", a.completeFlag(logbook.KindBoard))
	how := addKeepFlags(c)
	c.RunE = func(_ *cobra.Command, args []string) error { return a.track(args[0], t, *how) }
	return c
}

// completeFlag completes a flag with ids of kind k.
func (a *app) completeFlag(k logbook.Kind) completion {
	return func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) { return a.ids(k), noFiles }
}

func (a *app) track(file string, t tracking, how keeping) error {
	switch {
	case t.ride != "" && t.pack != "":
		return wrong("--ride and --pack: want one of them, a ride to fill in or the pack of a new one")
	case t.board != "" && t.pack == "":
		return wrong("--board %q: want --pack too, the pack of the new ride", t.board)
	case a.asOfFlag != "":
		return wrong("--as-of looks back at the log: a track has times of its own")
	}
	// A large file leaves little garbage: memory is worth more than time.
	defer debug.SetGCPercent(debug.SetGCPercent(20))
	if err := checkPicture(t.chart); err != nil {
		return err
	}
	// The call is checked before the file is read, which may be large.
	on, err := a.trackFor(t)
	if err != nil {
		return err
	}
	options, err := t.options(on)
	if err != nil {
		return err
	}
	read, err := a.readTrack(file)
	if err != nil {
		return err
	}
	summary := gpx.Analyse(read, options)
	kept, err := a.keepTrack(summary, on, how)
	if err != nil {
		return err
	}
	if err := a.picture(t.chart, pictures.Pace(summary, on.who.System), charts.Options{}); err != nil {
		return err
	}
	return a.showTrack(summary, on, kept, file)
}

// trackOn is what the log holds on the ride that a track belongs to.
type trackOn struct {
	who   typed.Rider
	ride  *logbook.Ride // with --ride
	pack  *logbook.Pack // of the ride; nil where the track stands alone
	board string        // of the new ride, as given
}

// trackFor looks up what the call names. A track alone needs no log.
func (a *app) trackFor(t tracking) (*trackOn, error) {
	on := &trackOn{}
	err := a.read(func(s *store.Store) error {
		var err error
		if on.who, err = a.rider(s); err != nil {
			return err
		}
		switch {
		case t.ride != "":
			return on.findRide(s, t.ride)
		case t.pack != "":
			return on.findPack(s, t.pack, t.board)
		}
		return nil
	})
	if t.ride == "" && t.pack == "" && isAny(err, errNoLog, store.ErrNoStore) {
		on.who, err = a.rider(nil)
	}
	return on, err
}

func (on *trackOn) findRide(s *store.Store, id string) error {
	r, err := findRecord(s, id, logbook.KindRide.String())
	if err != nil {
		return err
	}
	ride, ok := r.(*logbook.Ride)
	if !ok || ride.Removed {
		return wrong("ride %s was removed: `packwane restore %s` brings it back", id, id)
	}
	on.ride = ride
	on.pack, err = findPack(s, ride.Pack)
	return err
}

func (on *trackOn) findPack(s *store.Store, pack, board string) error {
	var err error
	if on.pack, err = findPack(s, pack); err != nil || board == "" {
		return err
	}
	b, err := findBoard(s, board)
	if err == nil {
		on.board = b.ID
	}
	return err
}

// options turns the flags, and what the log knows, into what the track is
// measured against.
func (t tracking) options(on *trackOn) (o gpx.Options, err error) {
	if on.pack != nil {
		o.TargetKmh = on.pack.RefSpeedKmh
	}
	if on.ride != nil && on.ride.WindKmh.OK && on.ride.WindFromDeg.OK {
		o.WindKmh, o.WindFromDeg = on.ride.WindKmh, on.ride.WindFromDeg
	}
	for _, f := range []struct {
		flag, text string
		ask        typed.Ask
		to         *logbook.Num
	}{
		{"target", t.target, typed.AskTrackSpeed, &o.TargetKmh},
		{"within", t.within, typed.AskTrackSpeed, &o.WithinKmh},
		{"wind", t.wind, typed.AskTrackSpeed, &o.WindKmh},
		{"wind-from", t.windAt, typed.AskBearing, &o.WindFromDeg},
	} {
		if f.text == "" {
			continue
		}
		v, _, err := units.ParseIn(f.text, f.ask.Unit, on.who.System)
		if err != nil {
			return o, wrong("--%s %w", f.flag, err)
		}
		if !f.ask.Takes(v) {
			return o, wrong("--%s %q: want %s", f.flag, f.text, f.ask.Want(on.who.System))
		}
		*f.to = logbook.Some(v)
	}
	if (t.wind == "") != (t.windAt == "") {
		return o, wrong("--wind and --wind-from: want both or neither")
	}
	return o, nil
}

// readTrack reads a GPX file, or standard input for "-".
func (a *app) readTrack(name string) (*gpx.Track, error) {
	if info, err := os.Stat(name); name != "-" && err == nil && info.IsDir() {
		return nil, wrong("cannot read %s: is a folder: want a GPX file", name)
	}
	src, size, err := a.openInput(name)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	if name == "-" {
		name = "standard input"
	}
	progress := a.progress(size)
	defer progress.Clear()
	return gpx.Read(io.TeeReader(src, progress), name)
}

// keptTrack is what became of the ride.
type keptTrack struct {
	d      *draft
	filled []string
	other  []gpx.Kept
}

// keepTrack fills in the ride or logs a new one; nil where neither was asked for.
func (a *app) keepTrack(s *gpx.Summary, on *trackOn, how keeping) (*keptTrack, error) {
	if on.pack == nil {
		return nil, nil
	}
	k, err := a.draftTrack(s, on)
	if err != nil || k.d.known {
		return k, err
	}
	return k, a.put(k.d, how, on.verb())
}

// verb is what happens to the ride.
func (on *trackOn) verb() string {
	if on.ride != nil {
		return "amended"
	}
	return "logged"
}

// draftTrack makes the draft of the ride that is filled in, or of a new one.
func (a *app) draftTrack(s *gpx.Summary, on *trackOn) (*keptTrack, error) {
	k := &keptTrack{d: &draft{who: on.who, same: "there already:"}}
	if on.ride != nil {
		k.d.same = "nothing changes in"
		ride, filled, other, err := s.Amend(on.ride)
		if err != nil {
			return nil, wrong("ride %s: %w", on.ride.ID, err)
		}
		k.d.record, k.d.seen, k.filled, k.other = ride, on.ride.Rev, filled, other
		k.d.known = len(filled) == 0
	} else {
		ride, err := s.NewRide(on.pack.ID, on.board)
		if err != nil {
			return nil, wrong("pack %s: %w", on.pack.ID, err)
		}
		k.d.record = ride
	}
	if k.d.known {
		return k, nil
	}
	err := a.read(func(s *store.Store) error {
		if k.d.seen == 0 {
			if err := a.complete(s, k.d); err != nil {
				return err
			}
		}
		return a.judge(s, k.d)
	})
	return k, err
}
