package cli

import (
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/store"
)

func newLog(a *app) *cobra.Command {
	return groupOf("log", "Log a charge, ride, check, service or change of setup", groupLog,
		newLogKind(a, logbook.KindCharge, "Log a charge", `  packwane log charge kite-a full hold=1h charged="11.8 Ah" at=07:10
  packwane log charge --charged-wh 430 --end-rest "41.9 V" --end-rest "30 min"`),
		newLogKind(a, logbook.KindRide, "Log a ride, or a discharge on the bench", `  packwane log ride distance="9.5 mi" tyre="2.1 bar" at="yesterday 18:30"
  packwane log ride --distance-km 14.2 --moving 48m --discharged "165 Wh"`),
		newLogKind(a, logbook.KindCheck, "Log a measurement of resistance, rest volts or cell spread", `  packwane log check resistance=92mohm pack-c=21 soc=55
  packwane log check rest=38.9V load-v=36.1 load-a=30 pulse=10s`),
		newLogKind(a, logbook.KindService, "Log what was done to a pack or board, or happened to it", `  packwane log service inspection passed note="no swelling, plugs tight"
  packwane log service storage until="in 60 days"
  packwane log service kind=repair board=kite`),
		newLogKind(a, logbook.KindSetup, "Log a change of limit, mass or tyre that holds from now on", `  packwane log setup kite ref-tyre="2.2 bar"`))
}

func newLogKind(a *app, k logbook.Kind, short, example string) *cobra.Command {
	use := k.String() + " [PACK] [NAME=VALUE...]"
	about := `The pack may be left out where there is only one, or where the last one is
meant. Leave out what was not measured.
`
	switch k {
	case logbook.KindRide:
		about += "Without at and end, the ride ended just now.\n"
	case logbook.KindCharge:
		about += "Without at, the charge ended just now.\n"
	case logbook.KindService:
		use = k.String() + " [PACK] KIND [NAME=VALUE...]"
		about += "Without at, it was just now.\n"
	default:
		about += "Without at, it was just now.\n"
	}
	about += `A number without a unit is in your own units (see "packwane prefer"); under a
name with a unit in it, such as distance-km or charged-ah, it is in that unit.`
	c := &cobra.Command{
		Use: use, Short: short, Example: example, Args: cobra.ArbitraryArgs,
		Long:              short + ".\n\n" + about,
		Annotations:       map[string]string{fieldNote: k.String()},
		ValidArgsFunction: a.completeLog(k),
	}
	words := a.addFieldFlags(c, k)
	ask := c.Flags().Bool("ask", false, "ask for what tells most, one thing after the other")
	how := addKeepFlags(c)
	c.RunE = func(_ *cobra.Command, args []string) error { return a.logRecord(k, args, words(), *ask, *how) }
	return c
}

// logRecord logs a record of kind k: args are a pack, words that stand for a
// yes or a kind of service, and name=value; ask goes through the rest.
func (a *app) logRecord(k logbook.Kind, args []string, words []typed.Word, ask bool, how keeping) error {
	if a.asOfFlag != "" {
		return wrong("--as-of looks back at the log: say when it was with at=%q", a.asOfFlag)
	}
	plain, more := splitWords(args)
	words = append(words, more...)
	for _, word := range plain {
		if slices.Contains([]string{"true", "yes", "false", "no"}, word) {
			return wrong("%q stands alone: a flag such as --full says yes by itself; write full=%s, or --full=%s", word, word, word)
		}
		words = append(words, meant(k, word))
	}
	if i := twice(words, "pack"); i >= 0 {
		return wrong("%q is one word too many: want one pack, and name=value for the rest", words[i].Text)
	}
	if ask || saysNothing(words) && a.streams.canAsk() {
		var err error
		if words, err = a.dialogue(k, words); err != nil {
			return err
		}
	}
	if first, ok := sayFirst[k]; ok && saysNothing(words) {
		return wrong("nothing was said of the %s: want name=value, such as %s, or --ask to be asked", k, first)
	}
	return a.keep(logbook.New(k), words, how)
}

// saysNothing reports whether the words only name what a record would be of.
func saysNothing(words []typed.Word) bool {
	return !slices.ContainsFunc(words, func(w typed.Word) bool { return w.Name != "pack" && w.Name != "board" })
}

// sayFirst is what one would say of a record before all else; a service without
// its kind is refused with the kinds.
var sayFirst = map[logbook.Kind]string{
	logbook.KindCharge: `charged="11.8 Ah"`, logbook.KindRide: `distance="14.2 km"`, logbook.KindCheck: "resistance=92mohm",
	logbook.KindSetup: "limit=31V",
}

// meant says what a word alone stands for: a kind of service, a yes ("full"), or
// else the pack.
func meant(k logbook.Kind, word string) typed.Word {
	if k == logbook.KindService && isServiceKind(word) {
		return typed.Word{Name: "kind", Text: word}
	}
	if n, err := typed.Find(k, word); err == nil && n.Fields[0].Type == logbook.TypeFlag {
		return typed.Word{Name: word, Text: "yes"}
	}
	return typed.Word{Name: "pack", Text: word}
}

func isServiceKind(word string) bool {
	return slices.Contains(logbook.ServiceKinds, strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToLower(word)))
}

// twice returns the index of the second word of that name, else -1.
func twice(words []typed.Word, name string) int {
	seen := false
	for i, w := range words {
		if w.Name == name {
			if seen {
				return i
			}
			seen = true
		}
	}
	return -1
}

// complete fills in what may be left out: the pack, the board and the time.
func (a *app) complete(s *store.Store, d *draft) error {
	r := d.record
	if err := a.completePack(s, r); err != nil {
		return err
	}
	a.completeTime(r)
	if setup, ok := r.(*logbook.Setup); ok {
		return d.place(s, setup)
	}
	ride, ok := r.(*logbook.Ride)
	if !ok || ride.Board != "" || !ride.DistanceKm.OK && !ride.OdometerKm.OK {
		return nil
	}
	past, err := d.past(s)
	if err != nil {
		return err
	}
	ride.Board = past.LastBoard(ride.At)
	return nil
}

// place files a setup under what it speaks of. Mass and tyres are a board's: one of them
// alone that names a pack is of the board that the pack was ridden on then. Volts are a
// pack's, and each pack of a board has its own.
func (d *draft) place(s *store.Store, setup *logbook.Setup) error {
	if setup.Board != "" {
		if !setup.OfPack() {
			return nil
		}
		packs, err := s.Packs()
		if err != nil {
			return err
		}
		one := ""
		if packs = slices.DeleteFunc(packs, func(p *logbook.Pack) bool { return p.Board != setup.Board }); len(packs) > 0 {
			one = ", such as " + someOf(idsOf(packs))
		}
		return wrong("a limit, a cut-off and full volts are of a pack, and %q is a board: name the pack%s", setup.Board, one)
	}
	if setup.OfPack() || !setup.OfBoard() {
		return nil
	}
	past, err := d.past(s)
	if past == nil || err != nil {
		return err
	}
	if board := past.LastBoard(setup.At); board != "" {
		setup.Pack, setup.Board = "", board
	}
	return nil
}

func (a *app) completePack(s *store.Store, r logbook.Record) error {
	packRef, boardRef := refsOf(r)
	if boardRef != nil && *boardRef != "" {
		b, err := findBoard(s, *boardRef)
		if err != nil {
			return err
		}
		*boardRef = b.ID
		if r.Kind() != logbook.KindRide && *packRef == "" {
			return nil // of the board alone
		}
	}
	word := *packRef
	if word == "" {
		var err error
		if word, err = meantPack(s); err != nil {
			return err
		}
	}
	p, err := findPack(s, word)
	if err != nil && boardRef != nil && *boardRef == "" && mayBeOfBoard(r) {
		if b, isBoard := findBoard(s, word); isBoard == nil { // a word alone may be either
			*packRef, *boardRef = "", b.ID
			return nil
		}
	}
	if err != nil {
		return err
	}
	*packRef = p.ID
	return nil
}

// mayBeOfBoard reports whether what is logged happens to boards as well: nothing that
// bars a pack, which must not be filed under its board.
func mayBeOfBoard(r logbook.Record) bool {
	switch r := r.(type) {
	case *logbook.Setup:
		return true
	case *logbook.Service:
		return r.What == "inspection" || r.What == "repair"
	}
	return false
}

// refsOf returns where r names its pack and its board; nil where it cannot.
func refsOf(r logbook.Record) (pack, board *string) {
	switch r := r.(type) {
	case *logbook.Setup:
		return &r.Pack, &r.Board
	case *logbook.Charge:
		return &r.Pack, nil
	case *logbook.Ride:
		return &r.Pack, &r.Board
	case *logbook.Check:
		return &r.Pack, nil
	case *logbook.Service:
		return &r.Pack, &r.Board
	}
	return nil, nil
}

// completeTime gives r the time of the call, to the minute: as the end of a
// ride or charge.
func (a *app) completeTime(r logbook.Record) {
	now := a.now.Truncate(time.Minute)
	switch r := r.(type) {
	case *logbook.Charge:
		setIfZero(&r.At, now)
	case *logbook.Ride:
		if !r.At.IsZero() {
			return
		}
		end := now
		if !r.End.IsZero() {
			end = r.End
		}
		r.At = end
		if r.MovingMin.OK {
			r.At = end.Add(-time.Duration(r.MovingMin.V * float64(time.Minute))).Truncate(time.Second)
			r.End = end
		}
	case *logbook.Check:
		setIfZero(&r.At, now)
	case *logbook.Service:
		setIfZero(&r.At, now)
	case *logbook.Setup:
		setIfZero(&r.At, now)
	}
}

func setIfZero(t *time.Time, to time.Time) {
	if t.IsZero() {
		*t = to
	}
}
