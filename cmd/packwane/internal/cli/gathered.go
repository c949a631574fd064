package cli

import (
	"bufio"
	"encoding/json"
	"iter"

	"packwane/health/logbook"
)

// gathered holds records that are to be imported, as lines of the log: few in
// memory, many in a temporary file.
type gathered struct {
	lines spill
	line  []byte
	count map[logbook.Kind]int
}

func (g *gathered) add(r logbook.Record) error {
	if g.count == nil {
		g.count = map[logbook.Kind]int{}
	}
	g.count[r.Kind()]++
	g.line = append(logbook.AppendJSON(g.line[:0], r), '\n')
	_, err := g.lines.Write(g.line)
	return err
}

// entries gives the records, as those of a file.
func (g *gathered) entries(file string) iter.Seq2[logbook.Entry, error] {
	if len(g.count) == 0 {
		return func(func(logbook.Entry, error) bool) {}
	}
	return logbook.Read(g.lines.reader(), file)
}

// documents gives the records as JSON has them.
func (g *gathered) documents() iter.Seq2[json.RawMessage, error] {
	return func(yield func(json.RawMessage, error) bool) {
		lines := bufio.NewScanner(g.lines.reader())
		lines.Buffer(nil, 1<<20) // no record is longer
		for lines.Scan() {
			if !yield(lines.Bytes(), nil) {
				return
			}
		}
		if err := lines.Err(); err != nil {
			yield(nil, err)
		}
	}
}

func (g *gathered) close() { g.lines.close() }
