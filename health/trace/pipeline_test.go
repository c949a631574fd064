package trace

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"io"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestCancel ends a reading whose input never comes: at once, by its context.
func TestCancel(t *testing.T) {
	text := plain.write(outing().rows)
	pr, pw := io.Pipe()
	defer pr.Close()
	ctx, cancel := context.WithCancel(context.Background())
	go func() {
		pw.Write(bytes.Repeat([]byte(text), 10)) // more than the head and some blocks
		cancel()
	}()
	_, err := Read(ctx, pr, Options{Pack: testPack(), Start: testStart}, nil)
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want that of the context", err)
	}
}

// TestErrorOnPipe finds a fault in a stream that goes on for ever.
func TestErrorOnPipe(t *testing.T) {
	text := plain.write(outing().rows)
	pr, pw := io.Pipe()
	defer pr.Close()
	go func() {
		io.WriteString(pw, text+"oops\n")
		for {
			if _, err := io.WriteString(pw, text[strings.IndexByte(text, '\n')+1:]); err != nil {
				return
			}
		}
	}()
	_, err := Read(context.Background(), pr, Options{Pack: testPack(), Start: testStart}, nil)
	var in *InputError
	if !errors.As(err, &in) || in.Row != int64(strings.Count(text, "\n"))+1 {
		t.Errorf("error %v, want the row behind the first copy", err)
	}
}

// TestProgress is told rows and bytes that never fall.
func TestProgress(t *testing.T) {
	text := strings.Repeat(plain.write(outing().rows), 6)
	var rows, read int64
	calls := 0
	r, err := Read(context.Background(), strings.NewReader(text), Options{Pack: testPack(), Start: testStart}, func(n, b int64) {
		if n < rows || b < read {
			t.Errorf("fell from %d rows, %d bytes to %d, %d", rows, read, n, b)
		}
		rows, read = n, b
		calls++
	})
	if err != nil {
		t.Fatal(err)
	}
	if calls < 2 || rows != r.Rows || read != int64(len(text)) {
		t.Errorf("%d calls, at last %d of %d rows, %d of %d bytes", calls, rows, r.Rows, read, len(text))
	}
}

// TestBlocks cuts any text into whole lines, and loses nothing.
func TestBlocks(t *testing.T) {
	text := plain.write(outing().rows)
	text = strings.Repeat(text, 4)
	for _, tail := range []string{"", "1,2,3"} {
		bs := &blocks{r: strings.NewReader(text + tail), line: 1}
		var got strings.Builder
		line := int64(1)
		for {
			b, err := bs.next(make([]byte, blockBytes+maxLine+1))
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if b.first != line || b.text[len(b.text)-1] != '\n' || b.cut && tail == "" {
				t.Fatalf("block at line %d, want %d; cut %v", b.first, line, b.cut)
			}
			line += b.lines
			got.Write(b.text)
		}
		want := text + tail
		if tail != "" {
			want += "\n"
		}
		if got.String() != want {
			t.Errorf("tail %q: the blocks are another text", tail)
		}
	}
}

// BenchmarkRatio reads an invented trace of four columns, and adds up the same
// text by a loop over encoding/csv and strconv.ParseFloat. What it reports is
// the ratio: how many times as long the loop takes.
func BenchmarkRatio(b *testing.B) {
	var rows []sample
	for range 40 {
		rows = append(rows, outing().rows...)
	}
	for k := range rows {
		rows[k].t = float64(k)
	}
	text := []byte(plain.write(rows))
	b.SetBytes(int64(len(text)))
	var own, loop time.Duration
	for b.Loop() {
		begin := time.Now()
		r, err := Read(context.Background(), bytes.NewReader(text), Options{Pack: testPack(), Start: testStart}, nil)
		if err != nil || r.Rows != int64(len(rows)) {
			b.Fatal(r, err)
		}
		own += time.Since(begin)
		begin = time.Now()
		if n := csvLoop(b, text); n != len(rows) {
			b.Fatalf("%d rows", n)
		}
		loop += time.Since(begin)
	}
	b.ReportMetric(loop.Seconds()/own.Seconds(), "csv-loop/read")
}

func csvLoop(b *testing.B, text []byte) (rows int) {
	r := csv.NewReader(bytes.NewReader(text))
	r.ReuseRecord = true
	if _, err := r.Read(); err != nil {
		b.Fatal(err)
	}
	var last, before, as float64
	for {
		rec, err := r.Read()
		if err == io.EOF {
			return rows
		}
		var v [4]float64
		for k := range v {
			if v[k], err = strconv.ParseFloat(rec[k], 64); err != nil {
				b.Fatal(err)
			}
		}
		as += (v[2] + before) / 2 * (v[0] - last)
		last, before = v[0], v[2]
		rows++
	}
}
