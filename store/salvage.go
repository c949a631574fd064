package store

import (
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"packwane/health/logbook"
)

// Salvaged says what Salvage took out of a file, and what it could not.
type Salvaged struct {
	Path      string
	Bytes     int64
	Pages     int
	BadPages  int                  // pages that make no sense
	BadEntry  int                  // entries that do not match their checksum, of records or others
	Records   map[logbook.Kind]int // records written, removed ones too
	Revisions int                  // written of all of them
	Lost      int                  // revisions known to have been there and not written
	Sure      bool                 // no more than Lost is lost
	Losses    []string             // the first of them in words
	Missing   []string             // packs and boards that are named and lost themselves: "pack reed-a"
	Removals  int                  // removed records of which only the removal is left, not written
	Unsettled bool                 // cannot be told what had been finished: some may come of a change that was not
}

// Salvage reads the file at path page by page, whether it opens as a store or
// not, and gives write every whole revision of a record once, in the order of
// All. What does not match its checksum is never given. The file is only read.
func Salvage(path string, wait Wait, write func(logbook.Record) error) (Salvaged, error) {
	s := &Store{path: filepath.Clean(path), mode: ReadOnly, wait: wait}
	exists, err := s.look()
	if err == nil && !exists {
		err = tell(ErrNoStore, "no store at %s", s.path)
	}
	if err != nil {
		return Salvaged{}, err
	}
	p := newPatience(wait)
	if s.gate, err = enter(s.path, p); err != nil {
		return Salvaged{}, err
	}
	defer s.gate.leave()
	f, err := lockWhole(s.path, p)
	if err != nil {
		return Salvaged{}, explainIO(s.path, err)
	}
	defer f.Close()
	near := filepath.Join(os.TempDir(), "packwane")
	m := &miner{f: f, found: &sorter{near: near}, sums: map[string]tally{}, named: map[target]bool{}}
	m.order = &sorter{near: near}
	defer m.found.close()
	defer m.order.close()
	m.out = Salvaged{Path: s.path, Records: map[logbook.Kind]int{}}
	if err := m.run(write); err != nil {
		return Salvaged{}, err
	}
	return m.out, nil
}

// miner is one run of Salvage.
type miner struct {
	f     *os.File
	pages pageMap
	tag   tag // of the last entry that was whole: the next is likely of the same bucket
	whole int // entries that match their checksum
	used  bool

	found *sorter // by id and revision: places under revision 0, and revisions
	sums  map[string]tally
	state *state
	order *sorter // what is to be written, in order
	named map[target]bool
	out   Salvaged
}

func (m *miner) run(write func(logbook.Record) error) error {
	if err := m.mine(); err != nil {
		return err
	}
	if m.whole == 0 {
		return tell(ErrNotStore, "%s: nothing in it is a packwane store, or nothing is left of it", m.out.Path)
	}
	if err := m.choose(); err != nil {
		return err
	}
	m.reckon()
	defined := map[target]bool{}
	for pair, err := range m.order.all() {
		if err != nil {
			return err
		}
		n, size := binary.Uvarint(pair.value)
		id, payload := pair.value[size:size+int(n)], pair.value[size+int(n):]
		r, err := decode(logbook.Kind(id[8]), string(id[9:]), payload)
		if err != nil {
			return err
		}
		defined[target{r.Kind(), string(id[9:])}] = true
		for _, ref := range references(r) {
			m.named[ref] = true
		}
		if err := write(r); err != nil {
			return err
		}
	}
	for ref := range m.named {
		if !defined[ref] {
			m.out.Missing = append(m.out.Missing, ref.kind.String()+" "+ref.id)
		}
	}
	slices.Sort(m.out.Missing)
	return nil
}

// mine looks at every page of the file.
func (m *miner) mine() error {
	info, err := m.f.Stat()
	if err != nil {
		return err
	}
	m.out.Bytes = info.Size()
	m.pages = mapPages(m.f, info.Size())
	m.out.Unsettled = !m.pages.settled
	size := m.pages.size
	m.out.Pages = int((info.Size() + size - 1) / size)
	page := make([]byte, size)
	goesOn := uint64(0) // pages before it belong to a page before them
	for p := range uint64(m.out.Pages) {
		n, err := m.f.ReadAt(page, int64(p)*size)
		if err != nil && err != io.EOF {
			m.out.BadPages++
			continue
		}
		if p < 2 || n < pageHeader {
			continue
		}
		m.used = m.pages.used(p)
		h := pageHead{native.Uint16(page[8:]), int(native.Uint16(page[10:])), uint64(native.Uint32(page[12:]))}
		itself, fits := native.Uint64(page) == p, h.overflow < uint64(m.out.Pages)
		sane := itself && fits
		isLeaf := sane && h.flags == leafFlag
		// one damaged part of its head does not hide how far a leaf goes
		maybeLeaf := fits && h.flags == leafFlag || itself && h.flags != branchFlag && h.flags != freeFlag
		switch {
		case sane && (h.flags == branchFlag || h.flags == freeFlag || isLeaf):
			goesOn = max(goesOn, p+1+h.overflow)
		case p >= goesOn && m.used && !isZero(page[:n]):
			m.out.BadPages++
		}
		whole := page[:n]
		if extent := leafExtent(page[:n], h); maybeLeaf && extent > size {
			whole = make([]byte, extent)
			if n, err = m.f.ReadAt(whole, int64(p)*size); err != nil && err != io.EOF {
				whole = page[:size]
			} else {
				whole = whole[:n]
			}
		}
		if !isLeaf {
			h.count = 0
		}
		if _, err := m.leaf(whole, h.count, m.used, false); err != nil {
			return err
		}
	}
	return nil
}

// maxLeaf bounds how far a leaf is followed.
const maxLeaf = 64 << 20

// leafExtent is how many bytes of the file belong to a leaf, as its head or
// its elements say: either may be damaged.
func leafExtent(page []byte, h pageHead) int64 {
	extent := uint64(1+h.overflow) * uint64(len(page))
	for i := range min(h.count, len(page)/16-1) {
		at := uint64(pageHeader + i*16)
		e := page[at : at+16]
		extent = max(extent, at+uint64(native.Uint32(e[4:]))+uint64(native.Uint32(e[8:]))+uint64(native.Uint32(e[12:])))
	}
	return int64(min(extent, maxLeaf))
}

func isZero(b []byte) bool {
	for _, c := range b {
		if c != 0 {
			return false
		}
	}
	return true
}

// leaf looks for entries in a page that has count of them, or none that it
// says. It returns how many were whole; with blame the others are counted.
func (m *miner) leaf(page []byte, count int, blame, nested bool) (whole int, err error) {
	if len(page) < 2*pageHeader {
		return 0, nil
	}
	// the first key stands behind the last element, which tells their number too
	n := max(count, int(native.Uint32(page[pageHeader+4:])/16))
	for i := range min(n, len(page)/16-1) {
		at := uint64(pageHeader + i*16)
		e := page[at : at+16]
		bucket := native.Uint32(e)&bucketFlag != 0
		ks := uint64(native.Uint32(e[8:]))
		more := 0
		if both, cerr := cut(page, at+uint64(native.Uint32(e[4:])), ks+uint64(native.Uint32(e[12:]))); cerr == nil {
			value := both[ks:]
			if more, err = m.entry(both[:ks], value); err == nil && more == 0 && !nested && len(value) > 2*pageHeader {
				inner := value[16:] // a small bucket stands in a value
				more, err = m.leaf(inner, int(native.Uint16(inner[10:])), blame && bucket, true)
			}
			if err != nil {
				return whole, err
			}
		}
		whole += more
		if more == 0 && i < count && blame && !bucket {
			m.out.BadEntry++
		}
	}
	return whole, nil
}

// entry keeps an entry, and returns 1, if it matches its checksum in any bucket.
func (m *miner) entry(key, value []byte) (whole int, err error) {
	if len(value) < frameSize || len(key) == 0 {
		return 0, nil
	}
	sum, payload := sumOf(value), value[frameSize:]
	t := m.tag
	if t == 0 || checksum(t, key, payload) != sum {
		t = 0
		for _, other := range buckets {
			if checksum(other, key, payload) == sum {
				t = other
				break
			}
		}
	}
	if t == 0 {
		return 0, nil
	}
	m.tag = t
	m.whole++
	return 1, m.keep(t, key, payload, sum)
}

// Classes of what was found: in a page that the store uses, or in one that it
// does not (any more, or not yet).
const (
	inUse = iota
	notInUse
)

// keep notes a whole entry.
func (m *miner) keep(t tag, key, payload []byte, sum uint64) error {
	class := byte(inUse)
	if !m.used {
		class = notInUse
	}
	switch t {
	case tagRecord:
		k, err := parseRecordKey(key)
		if err != nil {
			return nil
		}
		rev, _, err := splitPayload(payload)
		if err != nil {
			return nil
		}
		return m.found.add(appendHistoryKey(nil, idKey(k.kind, k.id), rev), append([]byte{class}, payload...))
	case tagHistory:
		if _, _, err := parseHistoryKey(key); err != nil {
			return nil
		}
		return m.found.add(key, append([]byte{class}, payload...))
	case tagID:
		if class == inUse {
			return m.found.add(appendHistoryKey(nil, key, 0), append([]byte{class}, payload...))
		}
	case tagSum:
		if n, err := parseTally(payload); err == nil && class == inUse && n.n >= m.sums[string(key)].n {
			m.sums[string(key)] = n
		}
	case tagMeta:
		if st, err := parseState(payload); err == nil && string(key) == string(keyState) && class == inUse && (m.state == nil || st.last > m.state.last) {
			m.state = &st
		}
	}
	return nil
}

// reckon says how much is known to be lost: where the sums are complete they
// tell how many revisions there were.
func (m *miner) reckon() {
	var root tally
	total := int64(0)
	for key, t := range m.sums {
		payload := t.payload()
		root.add(checksum(tagSum, []byte(key), payload))
		if tag(key[0]) == tagRecord || tag(key[0]) == tagHistory {
			total += t.n
		}
	}
	if m.state == nil || root != m.state.root {
		return
	}
	m.out.Sure = true
	if lost := int(total) - m.out.Revisions - m.out.Removals; lost > m.out.Lost {
		m.loss("%d more of which not even the names are left", lost-m.out.Lost)
		m.out.Lost = lost
	}
}

// loss spells out the first losses.
func (m *miner) loss(format string, args ...any) {
	if len(m.out.Losses) < maxProblems {
		m.out.Losses = append(m.out.Losses, oneLine(fmt.Sprintf(format, args...), 300))
	}
}
