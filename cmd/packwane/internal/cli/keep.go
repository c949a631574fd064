package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/report"
	"packwane/health/units"
	"packwane/store"
)

// keeping says how to go about a record that looks wrong.
type keeping struct {
	force bool // keep it against advice
	yes   bool // answer every question with yes
}

func addKeepFlags(c *cobra.Command) *keeping {
	var k keeping
	c.Flags().BoolVar(&k.force, "force", false, "keep it against advice; the note says so")
	c.Flags().BoolVarP(&k.yes, "yes", "y", false, "answer every question with yes")
	return &k
}

// draft is a record on its way into the store, with what is needed to judge
// and to show it.
type draft struct {
	record logbook.Record
	seen   int               // the revision that it amends; 0 for a new record
	as     map[string]string // quantities as typed, by field name
	who    typed.Rider
	slips  []logbook.Slip
	known  bool          // the store holds the very same
	same   string        // what to say then
	pack   *logbook.Pack // of the record; nil where it has none

	history *logbook.History // see past
}

// keep builds a new record from words, checks it, stores it and says what was
// understood.
func (a *app) keep(r logbook.Record, words []typed.Word, how keeping) error {
	d := &draft{record: r, same: "there already:"}
	err := a.read(func(s *store.Store) error { return a.prepare(s, d, words) })
	if isAny(err, errNoLog, store.ErrNoStore) && addable(r.Kind()) {
		err = a.prepare(nil, d, words)
	}
	if err != nil {
		return err
	}
	return a.settle(d, how, newVerb(r.Kind()))
}

// newVerb is what happens to a new record of kind k.
func newVerb(k logbook.Kind) string {
	if addable(k) {
		return "added"
	}
	return "logged"
}

// addable kinds can be the first of a log.
func addable(k logbook.Kind) bool { return k == logbook.KindBoard || k == logbook.KindPack }

// prepare fills the draft of a new record. s is nil where there is no store.
func (a *app) prepare(s *store.Store, d *draft, words []typed.Word) error {
	var err error
	if d.who, err = a.rider(s); err != nil {
		return err
	}
	if d.as, err = typed.Apply(d.record, words, d.who); err != nil {
		return asWrong(err)
	}
	if !addable(d.record.Kind()) {
		err = a.complete(s, d)
	} else if s != nil {
		err = resolveRefs(s, d.record)
	}
	if err != nil {
		return err
	}
	return a.judge(s, d)
}

// judge validates the record of the draft, gives it an id and looks for slips.
func (a *app) judge(s *store.Store, d *draft) error {
	if err := logbook.Validate(d.record); err != nil {
		return asWrong(err)
	}
	h := logbook.HeadOf(d.record)
	if h.ID == "" {
		h.ID = logbook.MakeID(d.record)
	}
	if s == nil {
		d.slips = logbook.Slips(nil, d.record, a.now)
		return nil
	}
	if d.seen == 0 {
		if err := a.meet(s, d); err != nil || d.known {
			return err
		}
	}
	past, err := d.past(s)
	if err != nil {
		return err
	}
	if past == nil {
		if past, err = onBoard(s, d.record); err != nil {
			return err
		}
	} else {
		p := past.PackAt(logbook.AtOf(d.record))
		d.pack = &p
	}
	d.slips = logbook.Slips(past, d.record, a.now)
	return nil
}

// onBoard is the history of a pack that is usually on the board of a setup, to judge that
// by; nil where there is none.
func onBoard(s *store.Store, r logbook.Record) (*logbook.History, error) {
	setup, ok := r.(*logbook.Setup)
	if !ok {
		return nil, nil
	}
	packs, err := s.Packs()
	if err != nil {
		return nil, err
	}
	for _, p := range packs {
		if p.Board != setup.Board {
			continue
		}
		records, err := s.PackRecords(p.ID)
		if err != nil {
			return nil, err
		}
		return logbook.NewHistory(p.ID, records, logbook.FarAhead)
	}
	return nil, nil
}

// meet looks for a record that is already there under the id of a new one.
func (a *app) meet(s *store.Store, d *draft) error {
	id, kind := logbook.HeadOf(d.record).ID, d.record.Kind()
	there, err := s.Get(kind, id)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return nil
	case err != nil:
		return err
	case logbook.HeadOf(there).Removed:
		return wrong("%s %s was removed: `packwane restore %s` brings it back", kind, id, id)
	}
	d.known = string(logbook.Content(there)) == string(logbook.Content(d.record))
	if !d.known {
		return wrong("%s %s is there already: `packwane amend %s NAME=VALUE` changes it", kind, id, id)
	}
	return nil
}

// past returns the history that the record is judged by, later records too;
// nil where it is of no pack.
func (d *draft) past(s *store.Store) (*logbook.History, error) {
	pack := logbook.PackOf(d.record)
	if pack == "" || d.record.Kind() == logbook.KindPack {
		return nil, nil
	}
	if d.history != nil && d.history.Pack.ID == pack {
		return d.history, nil
	}
	records, err := s.PackRecords(pack)
	if err != nil {
		return nil, err
	}
	d.history, err = logbook.NewHistory(pack, records, logbook.FarAhead)
	return d.history, err
}

// settle asks about slips, stores the draft and shows it.
func (a *app) settle(d *draft, how keeping, verb string) error {
	if d.known {
		return a.showKept(d, d.same)
	}
	if err := a.put(d, how, verb); err != nil {
		return err
	}
	return a.showKept(d, verb)
}

// put asks about slips and stores the draft.
func (a *app) put(d *draft, how keeping, verb string) error {
	if err := a.advise(d, how); err != nil {
		return err
	}
	return a.change(func(s *store.Store) error {
		kept, err := s.Put(d.record, d.seen, verb+" "+nameOf(d.record), a.now)
		if err != nil {
			return err
		}
		d.record = kept
		return remember(s, kept)
	})
}

// remember keeps which pack was logged for last, where that changed.
func remember(s *store.Store, r logbook.Record) error {
	pack := logbook.PackOf(r)
	if pack == "" {
		return nil
	}
	if kept, ok, err := s.Setting(settingPack); err != nil || ok && kept == pack {
		return err
	}
	return s.PutSetting(settingPack, pack)
}

// advise refuses a record that looks wrong, unless it is to be kept all the
// same; then its note gets a mark for each field.
func (a *app) advise(d *draft, how keeping) error {
	if len(d.slips) == 0 {
		return nil
	}
	words := make([]string, len(d.slips))
	for i, s := range d.slips {
		words[i] = slipWords(s, d.record, d.who)
	}
	what := strings.Join(words, "; ")
	switch {
	case how.force || how.yes:
	case a.streams.canAsk():
		yes, err := a.ask(what + ". Keep it all the same?")
		if err != nil {
			return err
		}
		if !yes {
			return wrong("not kept: the %s looks wrong; nothing was changed", d.record.Kind())
		}
	default:
		return wrong("%s (--force keeps it against advice)", what)
	}
	h := logbook.HeadOf(d.record)
	h.Note = marked(h.Note, d.slips)
	return logbook.Validate(d.record)
}

// marked returns the note with the mark of each slip's field, once.
func marked(note string, slips []logbook.Slip) string {
	for _, s := range slips {
		mark := logbook.KeptAgainstAdvice + s.Field
		if strings.Contains(note, mark) {
			continue
		}
		if note != "" {
			note += "; "
		}
		note += mark
	}
	return note
}

// slipWords says a slip in the rider's units: the field, its value, what is odd
// and what would be accepted.
func slipWords(s logbook.Slip, r logbook.Record, who typed.Rider) string {
	f, ok := logbook.FieldNamed(r.Kind(), s.Field)
	if !ok {
		return s.Field + ": " + s.Text
	}
	value := typed.Show(f, r, who)
	words := fmt.Sprintf("%s %s %s", typed.Label(f), value, s.Text)
	low, high := units.Format(s.Min.V, f.Unit, who.System), units.Format(s.Max.V, f.Unit, who.System)
	switch {
	case s.Min.OK && s.Max.OK && s.Min == s.Max:
		return words + ": want " + low
	case s.Min.OK && s.Max.OK:
		return words + ": want " + low + " to " + high
	case s.Min.OK:
		return words + ": want at least " + low
	case s.Max.OK:
		return words + ": want at most " + high
	}
	return words
}

// keptJSON is the document of log, add and amend with --json.
type keptJSON struct {
	Record  stored          `json:"record"`
	Changed bool            `json:"changed"` // false where the store held the very same
	Slips   []slipJSON      `json:"slips"`   // what it was kept against
	Caution string          `json:"caution,omitempty"`
	Insight *report.Insight `json:"insight,omitempty"` // of log: what the record shows
}

type slipJSON struct {
	Field string `json:"field"`
	Code  string `json:"code"`
	Text  string `json:"text"`
}

func (a *app) showKept(d *draft, verb string) error {
	if a.json {
		doc := keptJSON{stored{d.record}, !d.known, []slipJSON{}, caution(d.record, d.pack), nil}
		doc.Insight, _ = a.insightOf(d) // the record is kept, whatever stands in the way of this
		for _, s := range d.slips {
			doc.Slips = append(doc.Slips, slipJSON{s.Field, s.Code, slipWords(s, d.record, d.who)})
		}
		return a.printJSON(doc)
	}
	if err := a.showRecord(verb+" "+titleOf(d.record), d.record, d.who, d.as); err != nil || d.known {
		return err
	}
	if words := caution(d.record, d.pack); words != "" {
		fmt.Fprint(a.streams.Out, wrap("Caution: ", words, a.streams.width()))
	}
	if d.seen > 0 && addable(d.record.Kind()) { // a setup may hold instead of what was amended
		if err := a.read(func(s *store.Store) error { return a.showSince(s, d.record, d.who, a.now) }); err != nil {
			return err
		}
	}
	return a.showInsight(d)
}
