package store

import (
	"encoding/binary"

	"packwane/health/logbook"
)

// draft is a revision that is about to be stored: all that is needed to file
// it, with its payload in a heap.
type draft struct {
	rev     uint32
	removed bool
	hash    uint64
	bits    uint64
	owner   []byte
	board   []byte // of a ride or a pack that is not removed: ties board and pack
	payload ref
	line    int
	file    int
}

// newDraft describes revision rev of r; body is appendBody's.
func newDraft(r logbook.Record, rev uint32, body []byte) draft {
	h := logbook.HeadOf(r)
	d := draft{rev: rev, removed: h.Removed, hash: contentHash(body, h.Removed), bits: timeBits(logbook.AtOf(r)), owner: ownerOf(r)}
	if k := r.Kind(); !h.Removed && (k == logbook.KindRide || k == logbook.KindPack) {
		d.board = []byte(logbook.BoardOf(r))
	}
	return d
}

// append writes the draft as a sorter's value; rev stands in the key.
func (d *draft) append(dst []byte) []byte {
	flags := byte(0)
	if d.removed {
		flags = 1
	}
	dst = append(dst, flags)
	dst = binary.BigEndian.AppendUint64(dst, d.hash)
	dst = binary.BigEndian.AppendUint64(dst, d.bits)
	for _, n := range [...]int{d.line, d.file, int(d.payload.at), d.payload.len, len(d.owner)} {
		dst = binary.AppendUvarint(dst, uint64(n))
	}
	return append(append(dst, d.owner...), d.board...)
}

// parseDraft reverses append. It trusts its input, which this process wrote,
// and shares no memory with it.
func parseDraft(rev uint32, b []byte) draft {
	d := draft{rev: rev, removed: b[0] == 1, hash: binary.BigEndian.Uint64(b[1:]), bits: binary.BigEndian.Uint64(b[9:])}
	b = append([]byte(nil), b[17:]...)
	next := func() int {
		n, size := binary.Uvarint(b)
		b = b[size:]
		return int(n)
	}
	d.line, d.file = next(), next()
	d.payload = ref{int64(next()), next()}
	owner := next()
	d.owner, d.board = b[:owner:owner], b[owner:]
	return d
}

// link names the board and the pack that the draft ties.
func (d *draft) link() (linkPair, bool) {
	if len(d.board) == 0 {
		return linkPair{}, false
	}
	return linkPair{string(d.board), string(d.owner[1:])}, true
}

type linkPair struct{ board, pack string }
