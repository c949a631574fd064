package store

import (
	"encoding/binary"
	"fmt"

	"github.com/cespare/xxhash/v2"

	"packwane/health/logbook"
)

// The tag of a bucket is part of every checksum in it, so that an entry does
// not pass for one of another bucket.
type tag byte

const (
	tagMeta     tag = 'm'
	tagRecord   tag = 'r'
	tagHistory  tag = 'h'
	tagID       tag = 'i'
	tagLink     tag = 'l'
	tagSum      tag = 's'
	tagJournal  tag = 'j'
	tagSettings tag = 'p'
)

// frameSize is how many bytes the checksum takes in front of a value.
const frameSize = 8

// checksum covers the bucket, the key and the payload (xxHash64).
func checksum(t tag, key, payload []byte) uint64 {
	var d xxhash.Digest
	d.Reset()
	var head [1 + binary.MaxVarintLen64]byte
	head[0] = byte(t)
	n := 1 + binary.PutUvarint(head[1:], uint64(len(key)))
	d.Write(head[:n])
	d.Write(key)
	d.Write(payload)
	return d.Sum64()
}

// appendFrame appends the checksum and the payload.
func appendFrame(dst []byte, t tag, key, payload []byte) []byte {
	dst = binary.BigEndian.AppendUint64(dst, checksum(t, key, payload))
	return append(dst, payload...)
}

// openFrame returns the payload of a value and its checksum, or damage. The
// payload shares the value's memory.
func openFrame(t tag, key, value []byte) (payload []byte, sum uint64, err error) {
	if len(value) < frameSize {
		return nil, 0, damaged("%s is cut short", named(t, key))
	}
	payload = value[frameSize:]
	sum = binary.BigEndian.Uint64(value)
	if checksum(t, key, payload) != sum {
		return nil, 0, damaged("%s does not match its checksum", named(t, key))
	}
	return payload, sum, nil
}

// shownID is how much of an id is shown: a damaged one may be long.
const shownID = 48

// named says which entry stands under a key, as far as the key can be read.
func named(t tag, key []byte) string {
	switch t {
	case tagRecord:
		if k, err := parseRecordKey(key); err == nil {
			return fmt.Sprintf("%s %q of %q", k.kind, oneLine(k.id, shownID), oneLine(string(k.owner[1:]), shownID))
		}
	case tagHistory:
		if id, rev, err := parseHistoryKey(key); err == nil {
			return fmt.Sprintf("revision %d of %s %q", rev, logbook.Kind(id[8]), oneLine(string(id[9:]), shownID))
		}
	case tagID:
		if kind, id, err := parseIDKey(key); err == nil {
			return fmt.Sprintf("the place of %s %q", kind, oneLine(id, shownID))
		}
	}
	return "an entry of " + t.String()
}

// String names the bucket of the tag.
func (t tag) String() string {
	switch t {
	case tagMeta:
		return "meta"
	case tagRecord:
		return "records"
	case tagHistory:
		return "history"
	case tagID:
		return "ids"
	case tagLink:
		return "links"
	case tagSum:
		return "sums"
	case tagJournal:
		return "journal"
	case tagSettings:
		return "settings"
	}
	return "no bucket"
}

// tally is the count and the order-free digest of a group of entries: the sum
// of their checksums modulo 2^64. The zero tally is that of an empty group.
type tally struct {
	n   int64
	sum uint64
}

func (t *tally) add(sum uint64)  { t.n++; t.sum += sum }
func (t *tally) drop(sum uint64) { t.n--; t.sum -= sum }

func (t tally) plus(u tally) tally { return tally{t.n + u.n, t.sum + u.sum} }

func (t tally) payload() []byte {
	return binary.BigEndian.AppendUint64(binary.AppendUvarint(nil, uint64(t.n)), t.sum)
}

func parseTally(payload []byte) (tally, error) {
	n, size := binary.Uvarint(payload)
	if size <= 0 || len(payload) != size+8 {
		return tally{}, damaged("a sum is not one")
	}
	return tally{int64(n), binary.BigEndian.Uint64(payload[size:])}, nil
}

// sumOf returns the checksum in front of a value.
func sumOf(value []byte) uint64 { return binary.BigEndian.Uint64(value) }
