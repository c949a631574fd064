package logbook

import (
	"math"
	"strconv"
	"time"
)

// Num is a quantity that may not have been measured. The unit is part of the
// name of the field that holds it. The zero value is "absent".
type Num struct {
	V  float64 // meaningful only where OK
	OK bool
}

// Some returns a measured quantity. A value that is not finite is absent, and
// a negative zero is zero.
func Some(v float64) Num {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Num{}
	}
	return Num{V: v + 0, OK: true}
}

// Or returns the value, or def where it is absent.
func (n Num) Or(def float64) float64 {
	if n.OK {
		return n.V
	}
	return def
}

// Flag is a truth value that may not have been recorded.
type Flag uint8

// The three states of a Flag. The zero value is "absent".
const (
	Absent Flag = iota
	No
	Yes
)

// FlagOf returns Yes or No.
func FlagOf(b bool) Flag {
	if b {
		return Yes
	}
	return No
}

// Kind names one of the seven record kinds.
type Kind uint8

// The record kinds, in the order in which they are listed and exported.
const (
	KindBoard Kind = iota + 1
	KindPack
	KindSetup
	KindCharge
	KindRide
	KindCheck
	KindService
)

// Kinds lists every record kind in export order: what others refer to first.
var Kinds = [...]Kind{KindBoard, KindPack, KindSetup, KindCharge, KindRide, KindCheck, KindService}

var kindNames = [...]string{"", "board", "pack", "setup", "charge", "ride", "check", "service"}

// String returns the value of the "record" field that stands for k.
func (k Kind) String() string {
	if int(k) < len(kindNames) && k > 0 {
		return kindNames[k]
	}
	return "kind(" + strconv.Itoa(int(k)) + ")"
}

// KindOf returns the kind that name stands for, and whether there is one. The
// case must match.
func KindOf(name string) (Kind, bool) {
	for k, n := range kindNames {
		if k > 0 && n == name {
			return Kind(k), true
		}
	}
	return 0, false
}

// DateLayout is how a calendar date is written: YYYY-MM-DD (RFC 3339 full-date).
const DateLayout = "2006-01-02"

// FormatNumber writes v as the shortest decimal that reads back as v: plain
// notation for everyday magnitudes, an exponent beyond (as ECMA-262 does).
func FormatNumber(v float64) string { return string(appendNumber(nil, v)) }

func appendNumber(b []byte, v float64) []byte {
	// A decimal of up to 15 digits that reads back as v is the shortest one, once
	// its closing zeros are gone: no two such decimals read as the same number. So
	// thousandths, which most figures are, need no search.
	if m := math.Round(v * 1000); m > -1e15 && m < 1e15 && m/1000 == v {
		return appendThousandths(b, int64(m))
	}
	format := byte('f')
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e21) {
		format = 'e'
	}
	return strconv.AppendFloat(b, v, format, -1, 64)
}

// appendThousandths writes m/1000 without closing zeros.
func appendThousandths(b []byte, m int64) []byte {
	if m < 0 {
		b, m = append(b, '-'), -m
	}
	b = strconv.AppendInt(b, m/1000, 10)
	switch rest := m % 1000; {
	case rest == 0:
		return b
	case rest%100 == 0:
		return append(b, '.', byte('0'+rest/100))
	case rest%10 == 0:
		return append(b, '.', byte('0'+rest/100), byte('0'+rest/10%10))
	default:
		return append(b, '.', byte('0'+rest/100), byte('0'+rest/10%10), byte('0'+rest%10))
	}
}

// FormatTime writes t as RFC 3339 with its own offset.
func FormatTime(t time.Time) string { return t.Format(time.RFC3339Nano) }
