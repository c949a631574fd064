package store

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"packwane/health/logbook"
)

// A value opens to what was framed, and nothing else opens under its key.
func FuzzFrame(f *testing.F) {
	f.Add([]byte("key"), []byte("payload"), uint16(3))
	f.Add([]byte{}, []byte{}, uint16(0))
	f.Add(appendRecordKey(nil, []byte("pmoss"), 7, logbook.KindRide, "r"), appendPayload(nil, 300, []byte(`{"record":"ride"}`)), uint16(900))
	f.Fuzz(func(t *testing.T, key, payload []byte, flip uint16) {
		value := appendFrame(nil, tagRecord, key, payload)
		got, sum, err := openFrame(tagRecord, key, value)
		if err != nil || !bytes.Equal(got, payload) || sum != sumOf(value) {
			t.Fatalf("framed %q as %x, opened as %q, %v", payload, value, got, err)
		}
		if _, _, err := openFrame(tagHistory, key, value); err == nil {
			t.Error("it opens in another bucket")
		}
		if _, _, err := openFrame(tagRecord, append(bytes.Clone(key), 0), value); err == nil {
			t.Error("it opens under another key")
		}
		if _, _, err := openFrame(tagRecord, key, value[:len(value)-1]); err == nil {
			t.Error("it opens cut short")
		}
		value[int(flip)/8%len(value)] ^= 1 << (flip % 8)
		if _, _, err := openFrame(tagRecord, key, value); err == nil {
			t.Error("it opens with a bit changed")
		}
	})
}

// What opens as a place, a tally, an action or a payload prints back the same.
func FuzzPayloads(f *testing.F) {
	f.Add(place{rev: 3, count: 2, hash: 5, bits: 6, owner: []byte("pmoss")}.append(nil))
	f.Add(place{rev: 3, count: 2, removed: true}.append(nil))
	f.Add(tally{3, 4}.payload())
	f.Add((&Action{Op: OpUndo, Why: "typing error", At: noon, Target: 7, Added: 300}).payload())
	f.Add(state{1, 2, 3, tally{4, 5}}.payload())
	f.Fuzz(func(t *testing.T, b []byte) {
		if p, err := parsePlace(b); err == nil {
			again, err := parsePlace(p.append(nil))
			if err != nil || again.rev != p.rev || again.removed != p.removed || string(again.owner) != string(p.owner) {
				t.Errorf("place %+v came back as %+v, %v", p, again, err)
			}
		}
		if v, err := parseTally(b); err == nil {
			if again, err := parseTally(v.payload()); err != nil || again != v {
				t.Errorf("tally %+v came back as %+v, %v", v, again, err)
			}
		}
		if a, err := parseAction(1, b); err == nil {
			if again, err := parseAction(1, a.payload()); err != nil || !bytes.Equal(again.payload(), a.payload()) {
				t.Errorf("action %+v came back as %+v, %v", a, again, err)
			}
		}
		if st, err := parseState(b); err == nil && !bytes.Equal(st.payload(), b) {
			t.Errorf("state %+v prints otherwise", st)
		}
		if k, err := parseRecordKey(b); err == nil {
			if again := appendRecordKey(nil, k.owner, k.bits, k.kind, k.id); !bytes.Equal(again, b) {
				t.Errorf("key %x came back as %x", b, again)
			}
		}
	})
}

// The sorter gives what a stable sort in memory gives, however little memory
// it may use.
func TestSorter(t *testing.T) {
	for _, limit := range []int{1, 100, 3000, 1 << 20} {
		set(t, &memoryLimit, limit)
		rng := rand.New(rand.NewPCG(1, uint64(limit)))
		s := &sorter{near: filepath.Join(t.TempDir(), "x")}
		defer s.close()
		type kv struct{ k, v string }
		var want []kv
		for i := range 2000 {
			key := make([]byte, rng.IntN(14))
			for j := range key {
				key[j] = "ab\x00"[rng.IntN(3)]
			}
			want = append(want, kv{string(key), fmt.Sprint(i)})
			if err := s.add(key, []byte(fmt.Sprint(i))); err != nil {
				t.Fatal(err)
			}
		}
		slices.SortStableFunc(want, func(a, b kv) int { return bytes.Compare([]byte(a.k), []byte(b.k)) })
		for range 2 { // as often as it is asked
			i := 0
			for p, err := range s.all() {
				if err != nil {
					t.Fatal(err)
				}
				if got := (kv{string(p.key), string(p.value)}); got != want[i] {
					t.Fatalf("limit %d: pair %d is %q, want %q", limit, i, got, want[i])
				}
				i++
			}
			if i != len(want) {
				t.Errorf("limit %d: %d pairs of %d", limit, i, len(want))
			}
		}
	}
}

func TestHeap(t *testing.T) {
	set(t, &memoryLimit, 50)
	h := &heap{near: filepath.Join(t.TempDir(), "x")}
	defer h.close()
	rng := rand.New(rand.NewPCG(2, 2))
	var refs []ref
	for i := range 400 {
		r, err := h.append(bytes.Repeat([]byte{byte(i)}, i%30))
		if err != nil {
			t.Fatal(err)
		}
		refs = append(refs, r)
		j := rng.IntN(i + 1) // read between writes, from memory and from the file
		b, err := h.read(refs[j])
		if err != nil || !bytes.Equal(b, bytes.Repeat([]byte{byte(j)}, j%30)) {
			t.Fatalf("read %d: %x, %v", j, b, err)
		}
	}
}

// Keys of an owner's records sort as the records do, whatever the zone.
func TestRecordKeysSort(t *testing.T) {
	east := time.FixedZone("", 9*3600)
	times := []time.Time{
		{}, // of a pack or a board
		time.Date(1970, 1, 1, 0, 0, 0, 0, east),
		time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC),
		time.Date(2025, 4, 12, 12, 0, 0, 0, east),
		time.Date(2025, 4, 12, 12, 0, 0, 0, time.UTC),
		time.Date(2025, 4, 12, 12, 0, 0, 1, time.UTC),
		time.Date(2200, 12, 31, 23, 59, 59, 999_999_999, time.UTC),
	}
	var last []byte
	for _, at := range times {
		key := appendRecordKey(nil, []byte("pmoss"), timeBits(at), logbook.KindRide, "r")
		if bytes.Compare(last, key) >= 0 {
			t.Errorf("the key of %v does not come after the one before", at)
		}
		last = key
	}
}

// The page check finds nothing wrong with what bbolt writes: big values, many
// pages, freed pages, a backup, a rebuilt file.
func TestPageCheckAccepts(t *testing.T) {
	path := newPath(t)
	s := open(t, path, ReadWrite)
	mustImport(t, s, entries(fleet(4, 3000)...))
	long := string(bytes.Repeat([]byte("long "), 800))
	for i := range 30 {
		r := ride(fmt.Sprint("long-", i), "pack-1", "", 1, noon, 3)
		r.Note = long
		must(s.Put(r, 0, "", noon))(t)
		if i%3 == 0 {
			must(s.Undo(noon))(t)
		}
		if err := checkPages(s.file, path); err != nil {
			t.Fatal(err)
		}
	}
	set(t, &bulk, 10)
	must(s.Undo(noon))(t)
	mustImport(t, s, entries(fleet(4, 4000)...))
	if err := checkPages(s.file, path); err != nil {
		t.Fatal(err)
	}
}

// The time that is cut out of a body is the one that decoding gives.
func TestBodyTime(t *testing.T) {
	list := append(fleet(2, 30),
		&logbook.Service{Head: logbook.Head{ID: "s", Rev: 1, Note: `"at":"2001-01-01T00:00:00Z" ,"at":"x"`}, Board: "b", At: noon.In(time.FixedZone("", -3*3600)), What: "repair"},
		&logbook.Charge{Head: logbook.Head{ID: `,"at":"2001-01-01T00:00:00Z"`, Rev: 1}, Pack: `,"at":"2001-01-01T00:00:00Z"`, At: noon.Add(1), Start: noon})
	for _, r := range list {
		got, err := bodyTime(appendPayload(nil, 1, appendBody(nil, r)))
		if err != nil || !got.Equal(logbook.AtOf(r)) {
			t.Errorf("%s: %v, %v, want %v", logbook.HeadOf(r).ID, got, err, logbook.AtOf(r))
		}
	}
}
