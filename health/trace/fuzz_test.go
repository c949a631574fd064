package trace

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"
)

// FuzzRows: where encoding/csv and strconv take every row of three numbers,
// the parser of blocks takes the same rows with the same bits.
func FuzzRows(f *testing.F) {
	f.Add("1,2,3\n4,5.5,-6\n")
	f.Add("1,2.25,3\r\n\r\n# remark\n4,5,6")
	f.Add("\"1\",\"2\",\"3\"\n4,5,6,7,8\n")
	f.Add("1,2\n3,4,5\n")
	f.Add("1,,nan\n1e3,+2,.5\n")
	f.Add("1,2,3\n4,5,\"6\n7,8,9\n4,\"5")
	f.Fuzz(func(t *testing.T, text string) {
		if strings.ContainsAny(text, "\x00\r") || len(text) > maxLine {
			return
		}
		for _, fast := range []bool{true, false} {
			compareRows(t, text, fast)
		}
	})
}

func compareRows(t *testing.T, text string, fast bool) {
	p := &plan{delim: ',', point: '.', plain: fast, slots: slotExtra, dateSlot: -1, inSlot: -1, outSlot: -1, stateSlot: -1, firstGroup: -1,
		name: func(i int) string { return "#" + strconv.Itoa(i+1) }}
	for slot := range 3 {
		p.columns = append(p.columns, columnPlan{action: actNumber, slot: slot, scale: affine{plain: true}})
	}
	var got batch
	bs := &blocks{r: strings.NewReader(text), line: 1}
	b, err := bs.next(make([]byte, blockBytes+maxLine+1))
	if err != nil {
		return
	}
	p.parse(b, &got)
	if got.err != nil && (got.err.Row < 1 || got.err.Row > b.lines) {
		t.Errorf("error at row %d of %d", got.err.Row, b.lines)
	}
	rows, ok := plainRows(text)
	if !ok {
		return
	}
	if got.err != nil || got.rows != len(rows) {
		t.Fatalf("%q: %d rows, error %v; want %d", text, got.rows, got.err, len(rows))
	}
	for k, r := range rows {
		for slot, want := range r {
			if v := got.cols(slot)[k]; math.Float64bits(v) != math.Float64bits(want) {
				t.Fatalf("%q: row %d slot %d = %v, want %v", text, k, slot, v, want)
			}
		}
	}
}

// plainRows reads text by encoding/csv where it is nothing but rows of at
// least three decimal numbers.
func plainRows(text string) (rows [][3]float64, ok bool) {
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	all, err := r.ReadAll()
	if err != nil {
		return nil, false
	}
	for _, rec := range all {
		var row [3]float64
		if len(rec) < 3 || strings.Contains(strings.Join(rec, ""), "\n") { // a trace's fields end with their line
			return nil, false
		}
		for i := range row {
			s := rec[i]
			if strings.Trim(s, "0123456789.-+eE") != "" || len(s) > 60 {
				return nil, false
			}
			if row[i], err = strconv.ParseFloat(s, 64); err != nil {
				return nil, false
			}
		}
		rows = append(rows, row)
	}
	return rows, true
}

// FuzzRead: whatever the bytes, Read returns either an error of one line or a
// result of finite figures whose segments add up, and the same one with one
// worker as with three.
func FuzzRead(f *testing.F) {
	rows := outing().rows
	var thin []sample
	for k := 0; k < len(rows); k += 40 {
		thin = append(thin, rows[k])
	}
	text := plain.write(thin)
	f.Add([]byte(text))
	f.Add([]byte(strings.Replace(text, ",", ";", -1)))
	f.Add([]byte(wide(text[:900], false, true)))
	f.Add([]byte(packGzip(text)))
	f.Add([]byte("datetime,u,i\n2026-05-03 10:00:00,40,1\n2026-05-03 10:00:10,41,2\n2026-05-03 09:00:00,41,-2\n"))
	f.Add([]byte("//03 10\xd0\xd00:0040,,100,4"))                          // neither headers nor rows
	f.Add([]byte("d,v,1.125000,4a,\n0,2,0.0000,20.00\n41.000,41.1000,\"")) // a quotation without end
	f.Fuzz(func(t *testing.T, in []byte) {
		one, err := readAll(bytes.NewReader(in), Options{Pack: testPack(), Start: testStart, Workers: 1})
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("error of several lines: %q", err)
			}
			return
		}
		sum := 0.0
		for _, s := range one.Segments {
			sum += s.ChargedAh
			if s.End.Before(s.Start) {
				t.Errorf("segment ends %v before it starts %v", s.End, s.Start)
			}
		}
		for _, v := range []float64{one.ChargedAh, one.ChargedWh, one.DischargedAh, one.DischargedWh} {
			if math.IsNaN(v) {
				t.Errorf("not a number: %+v", one)
			}
		}
		if !math.IsInf(sum, 0) && math.Abs(sum-one.ChargedAh) > 1e-9*math.Abs(sum) {
			t.Errorf("segments add up to %v, want %v", sum, one.ChargedAh)
		}
		three, err := Read(context.Background(), bytes.NewReader(in), Options{Pack: testPack(), Start: testStart, Workers: 3}, nil)
		if err != nil || three.ChargedAh != one.ChargedAh || three.DischargedWh != one.DischargedWh || three.Rows != one.Rows {
			t.Errorf("three workers give another answer: %v", err)
		}
	})
}
