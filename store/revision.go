package store

import (
	"bytes"
	"encoding/binary"
	"time"

	"github.com/cespare/xxhash/v2"

	"packwane/health/logbook"
)

// appendBody appends what the store keeps of r: its canonical JSON without id
// and rev.
func appendBody(dst []byte, r logbook.Record) []byte {
	h := logbook.HeadOf(r)
	id, rev := h.ID, h.Rev
	h.ID, h.Rev = "", 1
	dst = logbook.AppendJSON(dst, r)
	h.ID, h.Rev = id, rev
	return dst
}

// appendPayload appends the payload of a revision: its number and its body.
func appendPayload(dst []byte, rev uint32, body []byte) []byte {
	return append(binary.AppendUvarint(dst, uint64(rev)), body...)
}

// splitPayload returns the number and the body of a revision.
func splitPayload(payload []byte) (rev uint32, body []byte, err error) {
	n, size := binary.Uvarint(payload)
	if size <= 0 || n < 1 || n > maxRev {
		return 0, nil, damaged("a revision has no number")
	}
	return uint32(n), payload[size:], nil
}

var removalHash = xxhash.Sum64String("removed")

// contentHash is equal for two revisions of one record that say the same (see
// logbook.Content): all removals do.
func contentHash(body []byte, removed bool) uint64 {
	if removed {
		return removalHash
	}
	return xxhash.Sum64(body)
}

// decode builds the record of a payload; it shares no memory with it.
func decode(k logbook.Kind, id string, payload []byte) (logbook.Record, error) {
	return decodeBy(logbook.ParseJSON, k, id, payload)
}

func decodeBy(parse func([]byte) (logbook.Record, error), k logbook.Kind, id string, payload []byte) (logbook.Record, error) {
	rev, body, err := splitPayload(payload)
	if err != nil {
		return nil, err
	}
	r, err := parse(body)
	if err != nil {
		return nil, damaged("%s %q revision %d: %v", k, id, rev, err)
	}
	if r.Kind() != k {
		return nil, damaged("%s %q revision %d is a %s", k, id, rev, r.Kind())
	}
	h := logbook.HeadOf(r)
	h.ID, h.Rev = id, int(rev)
	return r, nil
}

// removalBody returns the body of a removal: all that the revision said before
// it, marked as removed, so that an export still shows what was taken out.
func removalBody(k logbook.Kind, body []byte) []byte {
	head := len(`{"record":""`) + len(k.String())
	out := make([]byte, 0, len(body)+len(`,"removed":true`))
	out = append(out, body[:head]...)
	out = append(out, `,"removed":true`...)
	return append(out, body[head:]...)
}

var atField = []byte(`,"at":"`)

// bodyTime returns the time under which a payload's record is filed
// (logbook.AtOf) without decoding it all.
func bodyTime(payload []byte) (time.Time, error) {
	_, rest, found := bytes.Cut(payload, atField)
	text, _, _ := bytes.Cut(rest, []byte{'"'})
	if !found {
		return time.Time{}, nil
	}
	var t time.Time
	if err := t.UnmarshalText(text); err != nil {
		return t, damaged("a time %q is none", text)
	}
	return t, nil
}

// place is what the ids bucket knows of a record.
type place struct {
	rev     uint32 // of the current revision
	count   uint32 // revisions kept in all
	removed bool
	hash    uint64 // content of the current revision
	bits    uint64 // its time, where it is not removed
	owner   []byte // its owner, where it is not removed
}

// older is how many revisions stand in the history bucket.
func (p place) older() int {
	if p.removed {
		return int(p.count)
	}
	return int(p.count) - 1
}

func (p place) append(dst []byte) []byte {
	dst = binary.AppendUvarint(dst, uint64(p.rev))
	dst = binary.AppendUvarint(dst, uint64(p.count))
	if p.removed {
		return append(dst, 1)
	}
	dst = append(dst, 0)
	dst = binary.BigEndian.AppendUint64(dst, p.hash)
	dst = binary.BigEndian.AppendUint64(dst, p.bits)
	return append(dst, p.owner...)
}

func parsePlace(b []byte) (place, error) {
	bad := damaged("an id leads nowhere")
	rev, n := binary.Uvarint(b)
	if n <= 0 || rev < 1 || rev > maxRev {
		return place{}, bad
	}
	b = b[n:]
	count, n := binary.Uvarint(b)
	if n <= 0 || count < 1 || count > rev || len(b) <= n {
		return place{}, bad
	}
	p := place{rev: uint32(rev), count: uint32(count), removed: b[n] == 1, hash: removalHash}
	if b = b[n+1:]; p.removed {
		return p, nil
	}
	if len(b) < 17 {
		return place{}, bad
	}
	p.hash, p.bits, p.owner = binary.BigEndian.Uint64(b), binary.BigEndian.Uint64(b[8:]), b[16:]
	return p, nil
}

// isRemoval says whether a body is that of a removal: "removed" stands right
// behind the kind.
func isRemoval(k logbook.Kind, body []byte) bool {
	head := len(`{"record":""`) + len(k.String())
	return len(body) > head && bytes.HasPrefix(body[head:], []byte(`,"removed":true`))
}
