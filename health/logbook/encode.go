package logbook

import (
	"crypto/sha256"
	"encoding/base32"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// AppendJSON appends r as one JSON object, without a line break: "record"
// first, then the fields that are present in the order of the field table.
// Equal records give equal bytes.
func AppendJSON(dst []byte, r Record) []byte {
	dst = append(dst, `{"record":"`...)
	dst = append(dst, r.Kind().String()...)
	dst = append(dst, '"')
	for i := range tables[r.Kind()] {
		dst = tables[r.Kind()][i].appendJSON(dst, r)
	}
	return append(dst, '}')
}

// Content returns what a revision says: the canonical JSON without id and
// rev. Two revisions of a record say the same if and only if their contents
// are equal. The content of a removal is the removal alone.
func Content(r Record) []byte {
	if r.head().Removed {
		return []byte(`{"record":"` + r.Kind().String() + `","removed":true}`)
	}
	h := r.head()
	id, rev := h.ID, h.Rev
	h.ID, h.Rev = "", 1
	content := AppendJSON(make([]byte, 0, 256), r)
	h.ID, h.Rev = id, rev
	return content
}

var idEncoding = base32.NewEncoding("0123456789abcdefghjkmnpqrstvwxyz").WithPadding(base32.NoPadding)

// MakeID returns the id that r gets from its content where it brings none:
// its kind and the first 60 bits of the content's SHA-256. The same content
// always gives the same id.
func MakeID(r Record) string {
	sum := sha256.Sum256(Content(r))
	return r.Kind().String() + "-" + idEncoding.EncodeToString(sum[:8])[:12]
}

func (f *Field) appendJSON(dst []byte, r Record) []byte {
	ref := f.ref(r)
	switch p := ref.(type) {
	case *Num:
		if p.OK {
			dst = appendNumber(f.appendKey(dst), p.V)
		}
	case *string:
		if *p != "" {
			dst = appendString(f.appendKey(dst), *p)
		}
	case *time.Time:
		if !p.IsZero() {
			dst = append(f.appendKey(dst), '"')
			layout := time.RFC3339Nano
			if f.Type == TypeDate {
				layout = DateLayout
			}
			dst = append(p.AppendFormat(dst, layout), '"')
		}
	case *Flag:
		if *p != Absent {
			dst = strconv.AppendBool(f.appendKey(dst), *p == Yes)
		}
	case *[]float64:
		if len(*p) > 0 {
			dst = append(f.appendKey(dst), '[')
			for i, v := range *p {
				if i > 0 {
					dst = append(dst, ',')
				}
				dst = appendNumber(dst, v)
			}
			dst = append(dst, ']')
		}
	case *int:
		if *p > 1 {
			dst = strconv.AppendInt(f.appendKey(dst), int64(*p), 10)
		}
	case *bool:
		if *p {
			dst = append(f.appendKey(dst), "true"...)
		}
	}
	return dst
}

func (f *Field) appendKey(dst []byte) []byte {
	dst = append(dst, ',', '"')
	dst = append(dst, f.Name...)
	return append(dst, '"', ':')
}

const hexDigits = "0123456789abcdef"

// appendString appends s as a JSON string (RFC 8259): control characters, the
// quote and the reverse solidus escaped, all else as it is.
func appendString(dst []byte, s string) []byte {
	dst = append(dst, '"')
	start := 0
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c >= 0x20 && c != '"' && c != '\\' {
			continue
		}
		dst = append(dst, s[start:i]...)
		switch c {
		case '"', '\\':
			dst = append(dst, '\\', c)
		case '\n':
			dst = append(dst, '\\', 'n')
		case '\t':
			dst = append(dst, '\\', 't')
		default:
			dst = append(dst, '\\', 'u', '0', '0', hexDigits[c>>4], hexDigits[c&15])
		}
		start = i + 1
	}
	return append(append(dst, s[start:]...), '"')
}

// normalise brings a record that was built in memory into the form that its
// text would give: times in zones of their own, values that are not finite
// absent.
func normalise(r Record) {
	for i := range tables[r.Kind()] {
		f := &tables[r.Kind()][i]
		switch p := f.ref(r).(type) {
		case *time.Time:
			*p = checkedTime(*p, f.Type == TypeDate)
		case *Num:
			if p.OK && (math.IsNaN(p.V) || math.IsInf(p.V, 0)) {
				*p = Num{}
			}
			if !p.OK {
				*p = Num{}
			}
		case *string:
			if !utf8.ValidString(*p) {
				*p = strings.ToValidUTF8(*p, "\uFFFD")
			}
		case *int:
			if *p < 1 {
				*p = 1
			}
		}
	}
}
