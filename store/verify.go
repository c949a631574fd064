package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"strings"

	"packwane/health/logbook"
)

// Report is what Verify found.
type Report struct {
	Path      string
	Bytes     int64
	Format    int
	Records   map[logbook.Kind]int // current, not removed
	Removed   int                  // records whose current revision is a removal
	Revisions int                  // of all records together
	Actions   int
	Settings  int
	Problems  []string // the first of them
	More      int      // problems beyond those
}

// maxProblems is how many problems a Report spells out.
const maxProblems = 20

func (r *Report) problem(format string, args ...any) {
	text := oneLine(fmt.Sprintf(format, args...), 300)
	switch {
	case slices.Contains(r.Problems, text): // met once more by another way
	case len(r.Problems) == maxProblems:
		r.More++
	default:
		r.Problems = append(r.Problems, text)
	}
}

// VerifyFile opens the store at path, verifies it and closes it again. Where it
// cannot be opened for damage, the report names that.
func VerifyFile(path string, wait Wait) (Report, error) {
	s, err := OpenWaiting(path, ReadOnly, wait)
	if err == nil {
		defer s.Close()
		return s.Verify()
	}
	r := Report{Path: path}
	if errors.Is(err, ErrCorrupt) {
		r.Bytes, _ = sizeOf(path)
		r.damage(err)
	}
	return r, err
}

// damage notes the damage that ended the check.
func (r *Report) damage(err error) {
	var d damage
	if errors.As(err, &d) {
		err = d
	}
	r.problem("%v", err)
}

// Verify reads the whole store: it decodes and validates every revision and
// checks every checksum, sum, id, link, reference and the journal. The error
// is ErrCorrupt where the report names problems.
func (s *Store) Verify() (Report, error) {
	r := Report{Path: s.path, Format: Format, Records: map[logbook.Kind]int{}}
	err := s.guard(func() error { return checkPages(s.file, s.path) })
	if err == nil {
		err = s.view(func(v *view) error {
			r.Bytes = v.tx.Size()
			c := &checker{v: v, r: &r, links: map[linkPair]int{}}
			c.run()
			return nil
		})
	}
	if err != nil {
		if errors.Is(err, ErrCorrupt) {
			r.damage(err)
		}
		return r, err
	}
	if n := len(r.Problems) + r.More; n > 0 {
		return r, corrupt(s.path, worst(n, r.Problems[0]))
	}
	return r, nil
}

// worst says how many problems there are, and which is the first.
func worst(n int, first string) string {
	if n == 1 {
		return first
	}
	return fmt.Sprintf("%d problems, the first: %s", n, first)
}

// checker is one run of Verify.
type checker struct {
	v     *view
	r     *Report
	links map[linkPair]int // as the records say
	ids   int
	older int // revisions that the ids say are in the history bucket
}

func (c *checker) run() {
	history := 0
	c.try(c.v.checkRoot())
	c.each(tagRecord, c.record)
	c.each(tagHistory, func(key, payload []byte) error {
		history++
		return c.revision(key, payload)
	})
	c.each(tagID, c.id)
	c.each(tagLink, c.link)
	c.each(tagSettings, func(_, _ []byte) error {
		c.r.Settings++
		return nil
	})
	c.journal()
	current := 0
	for _, n := range c.r.Records {
		current += n
	}
	c.r.Revisions = current + history
	if len(c.r.Problems) > 0 {
		return // what follows would only say the same in other words
	}
	if c.ids != current+c.r.Removed {
		c.r.problem("%d ids stand for %d records", c.ids, current+c.r.Removed)
	}
	if c.older != history {
		c.r.problem("%d older revisions of %d", history, c.older)
	}
	for pair := range c.links {
		c.r.problem("no link between board %q and pack %q", pair.board, pair.pack)
	}
}

// each gives every whole entry of a bucket, notes the others, and checks the
// sums of the bucket where all are whole.
func (c *checker) each(t tag, fn func(key, payload []byte) error) {
	whole := true
	cursor := c.v.bucket[t].Cursor()
	for key, value := cursor.First(); key != nil; key, value = cursor.Next() {
		payload, _, err := openFrame(t, key, value)
		if err == nil {
			err = c.leads(t, key)
		}
		if err == nil {
			err = fn(key, payload)
		}
		if err != nil {
			whole = false
			c.try(err)
		}
	}
	if whole {
		c.try(c.v.sweep(t, func(_, _ []byte) error { return nil }))
	}
}

// leads checks that the branches lead to a key that is there.
func (c *checker) leads(t tag, key []byte) error {
	payload, _, err := c.v.get(t, key)
	if err == nil && payload == nil {
		err = astray()
	}
	return err
}

// try notes an error that ends one part of the check.
func (c *checker) try(err error) {
	if err != nil {
		c.r.problem("%v", err)
	}
}

// record checks one current record.
func (c *checker) record(key, payload []byte) error {
	k, err := parseRecordKey(key)
	if err != nil {
		return err
	}
	r, rev := c.decode(k.kind, k.id, payload)
	if r == nil {
		return nil
	}
	c.r.Records[k.kind]++
	if want := appendRecordKey(nil, ownerOf(r), timeBits(logbook.AtOf(r)), k.kind, k.id); string(want) != string(key) {
		c.r.problem("%s %q is filed in a wrong place", k.kind, k.id)
	}
	_, body, _ := splitPayload(payload)
	p, ok, err := c.v.place(k.kind, k.id)
	switch {
	case err != nil:
		return err
	case !ok || p.removed || p.rev != rev || p.bits != k.bits || string(p.owner) != string(k.owner) || p.hash != contentHash(body, false):
		c.r.problem("the id of %s %q leads elsewhere", k.kind, k.id)
	}
	if logbook.HeadOf(r).Removed {
		c.r.problem("%s %q is removed, yet current", k.kind, k.id)
	}
	if b := logbook.BoardOf(r); b != "" && (k.kind == logbook.KindRide || k.kind == logbook.KindPack) {
		c.links[linkPair{b, logbook.PackOf(r)}]++
	}
	for _, ref := range references(r) {
		if _, ok, err := c.v.place(ref.kind, ref.id); err != nil {
			return err
		} else if !ok {
			c.r.problem("%s %q names the unknown %s %q", k.kind, k.id, ref.kind, ref.id)
		}
	}
	return nil
}

// revision checks one entry of the history bucket.
func (c *checker) revision(key, payload []byte) error {
	id, rev, err := parseHistoryKey(key)
	if err != nil {
		return err
	}
	kind, name, err := parseIDKey(id)
	if err != nil {
		return err
	}
	r, has := c.decode(kind, name, payload)
	if r == nil {
		return nil
	}
	if has != rev {
		c.r.problem("%s %q: revision %d stands as %d", kind, name, has, rev)
	}
	p, ok, err := c.v.place(kind, name)
	if err != nil {
		return err
	}
	if !ok || rev > p.rev || rev == p.rev && !(p.removed && logbook.HeadOf(r).Removed) {
		c.r.problem("%s %q: revision %d does not belong to it", kind, name, rev)
	}
	if rev == p.rev {
		c.r.Removed++
	}
	return nil
}

// decode decodes and validates; nil after a problem.
func (c *checker) decode(k logbook.Kind, id string, payload []byte) (logbook.Record, uint32) {
	r, err := decode(k, id, payload)
	if err != nil {
		c.r.problem("%v", err)
		return nil, 0
	}
	if err := logbook.Validate(r); err != nil {
		c.r.problem("%s %q: %v", k, id, err)
		return nil, 0
	}
	return r, uint32(logbook.HeadOf(r).Rev)
}

// id checks one entry of the ids bucket.
func (c *checker) id(key, payload []byte) error {
	kind, name, err := parseIDKey(key)
	if err != nil {
		return err
	}
	c.ids++
	p, err := parsePlace(payload)
	if err != nil {
		return err
	}
	if string(idKey(kind, name)) != string(key) {
		c.r.problem("%s %q stands under a wrong key", kind, name)
	}
	c.older += p.older()
	if _, err := c.v.current(kind, name, p); err != nil {
		c.r.problem("%v", err)
	}
	return nil
}

// link checks one entry of the links bucket against the records.
func (c *checker) link(key, payload []byte) error {
	board, pack, _ := strings.Cut(string(key), "\x00")
	pair := linkPair{board, pack}
	n, size := binary.Uvarint(payload)
	if (size <= 0 || int(n) != c.links[pair]) && len(c.r.Problems) == 0 {
		c.r.problem("board %q and pack %q have %d links of %d", board, pack, n, c.links[pair])
	}
	delete(c.links, pair)
	return nil
}

// journal checks that the actions are complete and lead to known records.
func (c *checker) journal() {
	entries := 0
	for seq := uint64(1); seq <= c.v.state.last; seq++ {
		a, err := c.v.action(seq)
		if err != nil {
			c.r.problem("%v", err)
			continue
		}
		c.r.Actions++
		entries += 1 + int(a.parts)
		n := 0
		c.try(c.v.touches(a, func(t touch) error {
			n++
			p, ok, err := c.v.place(t.kind, t.id)
			if err == nil && (!ok || t.after > p.rev || t.before >= t.after) {
				c.r.problem("action %d changed %s %q, which is not so", seq, t.kind, t.id)
			}
			return err
		}))
		if n != a.Added+a.Changed+a.Removed {
			c.r.problem("action %d changed %d records of %d", seq, n, a.Added+a.Changed+a.Removed)
		}
	}
	found := 0
	c.each(tagJournal, func(_, _ []byte) error {
		found++
		return nil
	})
	if found != entries {
		c.r.problem("the journal has %d entries of %d", found, entries)
	}
}
