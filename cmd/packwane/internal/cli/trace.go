package cli

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/trace"
	"packwane/health/units"
	"packwane/store"
)

// tracing is what a call of trace asks for.
type tracing struct {
	pack, start, meter, chart string
	maps                      []string
	saveMap, skipBad, dryRun  bool
}

func newTrace(a *app) *cobra.Command {
	var t tracing
	c := &cobra.Command{
		Use: "trace FILE|-", Short: "Read charges and rides from a log of volts and amperes", GroupID: groupLog,
		Long: `Reads a time series of voltage and current (of the pack's own electronics, a
controller, a charger or a bench tester) and adds its charges, rides and checks
of resistance to the log. Text tables of any usual form are read: commas,
semicolons, tabs; decimal commas; UTF-8, UTF-16, Latin-1; clocks, dates, counts
of seconds; gzip and zstd. Standard input is read for "-".

Columns are found by their headers and shown with the first ten rows; --map
says otherwise, as KEY=COLUMN parted by commas. A column is a header, or # and
its number. The keys are
` + keyLines() + `.

Whether positive current charges is told by the voltage's answer to it, unless
the map has sign=+ or sign=-. What overlaps a record in the log is merged into
it. Reading the same file twice changes nothing.`,
		Example: `  packwane trace evening.csv --pack kite-a
  packwane trace bench.txt --pack kite-a --start 2026-05-03T18:00:00+02:00
  packwane trace esc.csv.gz --pack kite-a --save-map \
    --map 'current="I batt",sign=-'
  packwane trace evening.csv --pack kite-a --dry-run --chart evening.svg`,
		Args: between(1, 1),
		RunE: func(_ *cobra.Command, args []string) error { return a.trace(args[0], t) },
	}
	f := c.Flags()
	f.StringVar(&t.pack, "pack", "", "the `PACK` whose log it is (needed)")
	f.StringVar(&t.start, "start", "", "the `TIME` of the first row, for a file without dates; it overrules dates")
	f.StringArrayVar(&t.maps, "map", nil, "what the columns are, `KEY=COLUMN,...`")
	f.BoolVar(&t.saveMap, "save-map", false, "keep the map for the pack's next files")
	f.StringVar(&t.meter, "meter", "", "the `NAME` of what measured (else the pack's own meter)")
	f.BoolVar(&t.skipBad, "skip-bad", false, "leave out rows that cannot be read, and say how many")
	f.BoolVar(&t.dryRun, "dry-run", false, "only read and show; add nothing")
	f.StringVar(&t.chart, "chart", "", "draw the trace to `FILE` (.svg or .png)")
	c.RegisterFlagCompletionFunc("pack", a.completeFlag(logbook.KindPack))
	return c
}

// keyLines lists the keys of a map in lines that fit a narrow terminal.
func keyLines() string {
	return strings.TrimRight(wrap("  ", strings.Join(trace.Keys(), ", "), mostColumns-2), "\n")
}

func (a *app) trace(file string, t tracing) error {
	if a.asOfFlag != "" {
		return wrong("--as-of looks back at the log: a trace has times of its own")
	}
	if t.pack == "" {
		return wrong("--pack is missing: want the pack whose log %s is", file)
	}
	// As with a track: what is left of a large file is little.
	defer debug.SetGCPercent(debug.SetGCPercent(20))
	if err := checkPicture(t.chart); err != nil {
		return err
	}
	options, err := a.traceOptions(file, t)
	if err != nil {
		return err
	}
	// What the call and the log hold is checked before the file is read.
	on, err := a.traceFor(t.pack, &options)
	if err != nil {
		return err
	}
	read, err := a.readTrace(file, options)
	if err != nil {
		return err
	}
	defer read.Close()
	fresh := &gathered{}
	defer fresh.close()
	if err := a.reconcile(read, on, fresh.add); err != nil {
		return err
	}
	summary, err := a.keepTrace(t, on, read, toAdd{fresh.count, fresh.entries(file), file})
	if err != nil {
		return err
	}
	if t.chart != "" {
		picture, err := pictures.Trace(read, a.now.Location())
		if err != nil {
			return err
		}
		if err := a.picture(t.chart, picture, charts.Options{}); err != nil {
			return err
		}
	}
	return a.showTrace(read, on, summary, fresh, t)
}

// traceOn is what the log holds on the pack of a trace.
type traceOn struct {
	who  typed.Rider
	pack *logbook.Pack
}

// reconcile gives what is to be added of what was read to add, and notes what
// was merged with the log.
func (a *app) reconcile(read *trace.Result, on *traceOn, add func(logbook.Record) error) error {
	return a.read(func(s *store.Store) error {
		merged, err := read.Reconcile(packLog{s, on.pack.ID}, add)
		read.Warnings = append(read.Warnings, merged...)
		return err
	})
}

// packLog is what the store holds of a pack, as a trace asks for it.
type packLog struct {
	store *store.Store
	pack  string
}

// Each implements trace.Log.
func (l packLog) Each(fn func(logbook.Record) error) error {
	_, err := l.store.List(store.Query{Pack: l.pack}, fn)
	return err
}

// Record implements trace.Log.
func (l packLog) Record(k logbook.Kind, id string) (logbook.Record, error) { return l.store.Get(k, id) }

// settingMap is the key under which the map of a pack is kept.
func settingMap(pack string) string { return "trace-map/" + pack }

// traceOptions turns the flags into how the file is to be read.
func (a *app) traceOptions(file string, t tracing) (trace.Options, error) {
	o := trace.Options{Zone: a.now.Location(), Meter: t.meter, SkipBad: t.skipBad}
	for _, text := range t.maps {
		m, err := trace.ParseMapping(text)
		if err != nil {
			return o, wrong("--%w", err)
		}
		o.Map = o.Map.With(m)
	}
	if t.start != "" {
		var err error
		if o.Start, err = units.ParseTime(t.start, a.now); err != nil {
			return o, wrong("--start %w", err)
		}
	}
	info, err := os.Stat(file)
	switch {
	case file == "-" || err != nil:
		o.End = a.now.Truncate(time.Second)
	case info.IsDir():
		return o, wrong("cannot read %s: is a folder: want a table of times, volts and amperes", file)
	default:
		o.End = info.ModTime().Truncate(time.Second)
	}
	return o, nil
}

// traceFor looks up the pack and the map that is kept for it.
func (a *app) traceFor(pack string, o *trace.Options) (*traceOn, error) {
	on := &traceOn{}
	err := a.read(func(s *store.Store) error {
		var err error
		if on.who, err = a.rider(s); err != nil {
			return err
		}
		if on.pack, err = findPack(s, pack); err != nil {
			return err
		}
		h, err := s.SetUp(on.pack.ID)
		if err != nil {
			return err
		}
		now := h.PackAt(a.now)
		o.Pack, o.PackAt = &now, h.PackAt
		text, kept, err := s.Setting(settingMap(on.pack.ID))
		if err == nil && kept {
			o.Kept, err = trace.ParseMapping(text)
		}
		return err
	})
	return on, err
}

// readTrace reads the file to its end. An interrupt ends it; nothing has been
// changed by then.
func (a *app) readTrace(file string, o trace.Options) (*trace.Result, error) {
	src, size, err := a.openInput(file)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	bar := a.progress(size)
	o.Spill = func() (trace.Spill, error) { return newTempFile() }
	read, err := trace.Read(ctx, src, o, a.rowProgress(bar))
	bar.Clear()
	if file == "-" {
		file = "standard input"
	}
	return read, traceFault(file, err)
}

// traceFault tells a fault of the file from one on the way to it.
func traceFault(file string, err error) error {
	var told *fault
	switch {
	case err == nil, errors.As(err, &told):
		return err
	case errors.Is(err, context.Canceled):
		return failed("interrupted: nothing was added")
	case inFile(err):
		return wrong("%s: %w", file, err)
	}
	return failed("cannot read %s: %w", file, plainPath(err))
}

// inFile reports whether a fault of reading lies in the file or its map, not
// in the way to it.
func inFile(err error) bool {
	var in *trace.InputError
	var m *trace.MapError
	return errors.As(err, &in) || errors.As(err, &m) || isAny(err, trace.ErrEmpty, trace.ErrSign, trace.ErrWindow)
}

// rowProgress tells the bar how far the reading is.
func (a *app) rowProgress(bar *progressbar.ProgressBar) func(rows, bytes int64) {
	var shown int64
	return func(rows, bytes int64) {
		const often = 200_000 // rows
		if rows-shown < often {
			return
		}
		shown = rows
		bar.Describe(fmt.Sprintf("%s rows", prose.Grouped(rows)))
		bar.Set64(bytes)
	}
}

// toAdd is what is to be added of a trace.
type toAdd struct {
	count   map[logbook.Kind]int
	entries iter.Seq2[logbook.Entry, error]
	file    string
}

// keepTrace adds the records to the store, all or none, and keeps the map.
func (a *app) keepTrace(t tracing, on *traceOn, read *trace.Result, fresh toAdd) (store.Summary, error) {
	summary := store.Summary{Unchanged: map[logbook.Kind]int{}}
	for k, n := range read.Counts {
		summary.Unchanged[k] = n - fresh.count[k]
	}
	if t.dryRun || len(fresh.count) == 0 && !t.saveMap {
		return summary, nil
	}
	path, _ := a.storePath()
	staged, err := store.StageSparingly(path, fresh.entries)
	if err != nil {
		return summary, err
	}
	defer staged.Close()
	err = a.change(func(s *store.Store) error {
		done, err := s.ImportStaged(staged, "trace "+fresh.file, a.now)
		if err != nil {
			return err
		}
		summary.Added, summary.Changed = done.Added, done.Changed
		for k, n := range done.Unchanged {
			summary.Unchanged[k] += n
		}
		if t.saveMap {
			return s.PutSetting(settingMap(on.pack.ID), read.Mapping.String())
		}
		return nil
	})
	return summary, err
}
