package model

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
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

// A kept fit is what took long of a fit, little-endian: the head, then numbers
// (the mode, the knots' middles, the upper half of the precision by rows, each part
// of the library's mixture), what was put aside, and a SHA-256 of all that.
type keptHead struct {
	Version, Params, Parts, Aside uint32
	Knots                         uint32
	Step                          int32   // machine.stepFrom
	Held                          float64 // machine.held
	Status                        [16]byte
	Scale                         [3]float64
}

// keptAside is a figure that was put aside.
type keptAside struct{ Event, Kind uint32 }

// keptPart is how many numbers a part of the mixture takes: the fade's four,
// the upper half of their precision, and the weight.
const keptPart = 4 + 10 + 1

// Keep encodes the mode of the fit, its precision, its noises, the fades that
// follow from them and what it put aside: some 10 to 40 kB. A fit of no
// records is not kept (nil): it is soon made, and goes with the clock.
func (fit *Fit) Keep() []byte {
	if len(fit.m.events) == 0 {
		return nil
	}
	library := fit.mix.parts[:fit.own]
	head := keptHead{
		Version: Version, Params: uint32(len(fit.z)), Parts: uint32(len(library)), Aside: uint32(len(fit.f.p.reject)),
		Knots: uint32(len(fit.m.knots)), Step: int32(fit.m.stepFrom), Held: fit.m.held,
		Scale: [3]float64{fit.m.scale.consumption, fit.m.scale.limit, fit.m.scale.meter},
	}
	copy(head.Status[:], fit.Status)
	numbers := slices.Clone(fit.z)
	for k := range fit.m.knots {
		numbers = append(numbers, fit.m.params[numScalars+k].mean)
	}
	for i := range fit.z {
		for j := i; j < len(fit.z); j++ {
			numbers = append(numbers, fit.order.hessian.At(i, j))
		}
	}
	for i := range library {
		numbers = library[i].appendTo(numbers)
	}
	aside := make([]keptAside, 0, head.Aside)
	for r := range fit.f.p.reject {
		aside = append(aside, keptAside{uint32(r.event), uint32(r.kind)})
	}
	slices.SortFunc(aside, func(a, b keptAside) int { return slices.Compare([]uint32{a.Event, a.Kind}, []uint32{b.Event, b.Kind}) })
	var data []byte
	for _, what := range []any{head, numbers, aside} {
		var err error
		if data, err = binary.Append(data, binary.LittleEndian, what); err != nil {
			panic("model: a kept fit does not encode: " + err.Error())
		}
	}
	sum := sha256.Sum256(data)
	return append(data, sum[:]...)
}

func (c *component) appendTo(numbers []float64) []float64 {
	at := c.fade.numbers()
	numbers = append(numbers, at[:]...)
	for a := range 4 {
		numbers = append(numbers, c.precision[a][a:]...)
	}
	return append(numbers, c.lnWeight)
}

// keptComponent is the part that appendTo wrote, of candidate l.
func keptComponent(numbers []float64, l candidate) component {
	c := component{fade: fade{shape: l.shape, q: l.prior.q}, prior: l.prior, knee: l.knee, lnWeight: numbers[keptPart-1]}
	c.fade.set([4]float64(numbers))
	at := 4
	for a := range 4 {
		for b := a; b < 4; b++ {
			c.precision[a][b], c.precision[b][a] = numbers[at], numbers[at]
			at++
		}
	}
	return c
}

// openKept returns the head of a kept fit of this version and what stands behind
// it; false for any other bytes.
func openKept(data []byte) (head keptHead, numbers []float64, aside []keptAside, ok bool) {
	body := data[:max(len(data)-sha256.Size, 0)]
	if sum := sha256.Sum256(body); !bytes.Equal(sum[:], data[len(body):]) {
		return head, nil, nil, false
	}
	n, err := binary.Decode(body, binary.LittleEndian, &head)
	if err != nil || head.Version != Version {
		return head, nil, nil, false
	}
	params := int(head.Params)
	numbers = make([]float64, params+int(head.Knots)+params*(params+1)/2+keptPart*int(head.Parts))
	aside = make([]keptAside, head.Aside)
	if len(body) != n+binary.Size(numbers)+binary.Size(aside) {
		return head, nil, nil, false
	}
	binary.Decode(body[n:], binary.LittleEndian, numbers)
	binary.Decode(body[n+binary.Size(numbers):], binary.LittleEndian, aside)
	return head, numbers, aside, true
}

// Restore builds the fit of h from what Keep gave for a history of the same
// Key. The result equals that of FitHistory to the last bit. False means that
// the bytes are of no use: fit again.
func Restore(h *logbook.History, data []byte, siblings []Sibling) (fit *Fit, ok bool) {
	head, numbers, aside, ok := openKept(data)
	if !ok {
		return nil, false
	}
	m := prepare(h)
	n := len(m.params)
	shapes := library()
	if int(head.Params) != n || int(head.Knots) != len(m.knots) || int(head.Parts) != len(shapes) || len(m.events) == 0 || int(head.Step) >= len(m.events) {
		return nil, false
	}
	m.setStep(int(head.Step))
	m.hold(numbers[n:n+len(m.knots)], head.Held)
	fit = &Fit{m: m, f: newFitter(m), z: numbers[:n:n], Status: Status(bytes.TrimRight(head.Status[:], "\x00"))}
	m.scale = scales{consumption: head.Scale[0], limit: head.Scale[1], meter: head.Scale[2]}
	for _, r := range aside {
		if int(r.Event) >= len(m.events) {
			return nil, false
		}
		fit.f.p.reject[rejectKey{int32(r.Event), obsKind(r.Kind)}] = true
	}
	fit.order.hessian = mat.NewSymDense(n, nil)
	at := n + len(m.knots)
	for i := range n {
		for j := i; j < n; j++ {
			fit.order.hessian.SetSym(i, j, numbers[at])
			at++
		}
	}
	var own []component
	for _, l := range candidates(m.fadePrior(), shapes, nil) {
		own = append(own, keptComponent(numbers[at:at+keptPart], l))
		at += keptPart
	}
	fit.finish(shapes, own, siblings)
	return fit, true
}
