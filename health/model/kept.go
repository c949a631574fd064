package model

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"

	"packwane/health/logbook"
)

// Key names everything that the mode of a fit depends on: the model's version
// and the records, not the clock.
func Key(h *logbook.History) string {
	sum := sha256.New()
	fmt.Fprintf(sum, "packwane model %d\n", Version)
	var line []byte
	write := func(r logbook.Record) {
		line = append(logbook.AppendJSON(line[:0], r), '\n')
		sum.Write(line)
	}
	for _, r := range h.Records() {
		write(r)
	}
	sum.Write([]byte("other rides\n"))
	for _, r := range h.OtherRides {
		write(r)
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// kept is what is worth keeping of a fit: all that took long.
type kept struct {
	Version int
	Z       []float64
	Hessian []float64 // upper half by rows
	Scale   [3]float64
	Reject  [][2]int // event and kind, in order
	Status  Status
}

// Keep encodes the mode of the fit, its precision, its noises and what it put
// aside: some 10 to 30 kB.
func (fit *Fit) Keep() []byte {
	k := kept{Version: Version, Z: fit.z, Scale: [3]float64{fit.m.scale.consumption, fit.m.scale.limit, fit.m.scale.meter}, Status: fit.Status}
	n := fit.order.hessian.SymmetricDim()
	for i := range n {
		for j := i; j < n; j++ {
			k.Hessian = append(k.Hessian, fit.order.hessian.At(i, j))
		}
	}
	for r := range fit.f.p.reject {
		k.Reject = append(k.Reject, [2]int{int(r.event), int(r.kind)})
	}
	slices.SortFunc(k.Reject, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
	var b bytes.Buffer
	if err := gob.NewEncoder(&b).Encode(k); err != nil {
		panic("model: a kept fit does not encode: " + err.Error())
	}
	return b.Bytes()
}

// Restore builds the fit of h from what Keep gave for a history of the same
// Key. The result equals that of FitHistory to the last bit. False means that
// the bytes are of no use: fit again.
func Restore(h *logbook.History, data []byte, siblings []Sibling) (fit *Fit, ok bool) {
	var k kept
	if err := gob.NewDecoder(bytes.NewReader(data)).Decode(&k); err != nil || k.Version != Version {
		return nil, false
	}
	m := prepare(h)
	n := len(m.params)
	if len(k.Z) != n || len(k.Hessian) != n*(n+1)/2 {
		return nil, false
	}
	fit = &Fit{m: m, f: newFitter(m), z: k.Z, Status: k.Status}
	m.scale = scales{consumption: k.Scale[0], limit: k.Scale[1], meter: k.Scale[2]}
	for _, r := range k.Reject {
		if r[0] < 0 || r[0] >= len(m.events) {
			return nil, false
		}
		fit.f.p.reject[rejectKey{int32(r[0]), obsKind(r[1])}] = true
	}
	fit.order.hessian = mat.NewSymDense(n, nil)
	at := 0
	for i := range n {
		for j := i; j < n; j++ {
			fit.order.hessian.SetSym(i, j, k.Hessian[at])
			at++
		}
	}
	fit.finish(library(), siblings)
	return fit, true
}
