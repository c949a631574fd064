package store

import (
	"bytes"
	"encoding/binary"
	"math"
	"time"

	"github.com/cespare/xxhash/v2"

	"packwane/health/logbook"
)

// Owners: a record belongs to a pack or to a board.
const (
	ownerBoard = 'b'
	ownerPack  = 'p'
)

// ownerOf returns the owner of r as it begins a key: its type and id.
func ownerOf(r logbook.Record) []byte {
	if p := logbook.PackOf(r); p != "" {
		return append([]byte{ownerPack}, p...)
	}
	return append([]byte{ownerBoard}, logbook.BoardOf(r)...)
}

// timeBits turns a time into bits that sort as the time does. The zero time
// comes first. Times from 1970 to 2200 fit.
func timeBits(t time.Time) uint64 {
	if t.IsZero() {
		return 0
	}
	return uint64(t.UnixNano()) ^ 1<<63
}

// appendRecordKey appends the key of a current record. Ids hold no control
// characters, so that a zero byte ends the owner.
func appendRecordKey(dst, owner []byte, bits uint64, k logbook.Kind, id string) []byte {
	dst = append(append(dst, owner...), 0)
	dst = binary.BigEndian.AppendUint64(dst, bits)
	return append(append(dst, byte(k)), id...)
}

// recordKey is a parsed key of the records bucket.
type recordKey struct {
	owner []byte
	bits  uint64
	kind  logbook.Kind
	id    string
}

func parseRecordKey(key []byte) (recordKey, error) {
	end := bytes.IndexByte(key, 0)
	if end < 1 || len(key) < end+10 {
		return recordKey{}, damaged("a record's key is cut short")
	}
	rest := key[end+1:]
	return recordKey{key[:end], binary.BigEndian.Uint64(rest), logbook.Kind(rest[8]), string(rest[9:])}, nil
}

// ownerOfKey returns the owner in front of a record's key.
func ownerOfKey(key []byte) []byte {
	if end := bytes.IndexByte(key, 0); end >= 0 {
		return key[:end]
	}
	return key
}

// appendIDKey appends the key under which the ids bucket knows a record. The
// hash in front spreads the ids evenly over 256 groups.
func appendIDKey(dst []byte, k logbook.Kind, id string) []byte {
	start := len(dst)
	dst = append(dst, 0, 0, 0, 0, 0, 0, 0, 0, byte(k))
	dst = append(dst, id...)
	binary.BigEndian.PutUint64(dst[start:], xxhash.Sum64(dst[start+8:]))
	return dst
}

func idKey(k logbook.Kind, id string) []byte { return appendIDKey(nil, k, id) }

func parseIDKey(key []byte) (logbook.Kind, string, error) {
	if len(key) < 10 {
		return 0, "", damaged("an id's key is cut short")
	}
	return logbook.Kind(key[8]), string(key[9:]), nil
}

// appendHistoryKey appends the key of a revision in the history bucket.
func appendHistoryKey(dst, idKey []byte, rev uint32) []byte {
	return binary.BigEndian.AppendUint32(append(append(dst, idKey...), 0), rev)
}

func parseHistoryKey(key []byte) (idKey []byte, rev uint32, err error) {
	n := len(key) - 5
	if n < 10 || key[n] != 0 {
		return nil, 0, damaged("a revision's key is cut short")
	}
	return key[:n], binary.BigEndian.Uint32(key[n+1:]), nil
}

func linkKey(board, pack string) []byte {
	return append(append([]byte(board), 0), pack...)
}

func journalKey(seq uint64, part uint32) []byte {
	return binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint64(nil, seq), part)
}

// appendGroup appends the group whose tally counts the entry: the records of
// one owner, the links of one board, one of 256 groups of ids or revisions,
// the journal, the settings. Groups are keys of the sums bucket.
func appendGroup(dst []byte, t tag, key []byte) []byte {
	dst = append(dst, byte(t))
	switch t {
	case tagRecord, tagLink:
		return append(dst, ownerOfKey(key)...)
	case tagHistory, tagID:
		return append(dst, key[0])
	}
	return dst
}

// orderKey sorts records as an export lists them: kind, time, id, revision.
func orderKey(dst []byte, k logbook.Kind, bits uint64, id string, rev uint32) []byte {
	dst = append(dst, byte(k))
	dst = binary.BigEndian.AppendUint64(dst, bits)
	dst = append(append(dst, id...), 0)
	return binary.BigEndian.AppendUint32(dst, rev)
}

// maxRev is the highest revision that a record may carry.
const maxRev = math.MaxInt32
