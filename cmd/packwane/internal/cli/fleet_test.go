package cli

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/simulate"
)

// fleetStyles are the ways in which the boards of the invented fleet are
// ridden and their logs are kept, in turn.
var fleetStyles = []simulate.Style{simulate.Rich, simulate.WallOnly, simulate.Messy, simulate.Flat}

// writeFleet writes the log of an invented rental fleet as JSON Lines: so many
// packs with so many records each (a board and a pack among them), as the
// simulator makes them. Each pack has a board of its own.
func writeFleet(w io.Writer, packs, records int) error {
	out := logbook.NewJSONWriter(w)
	for n := range packs {
		list, err := fleetPack(n, records)
		if err != nil {
			return err
		}
		for _, r := range list {
			if err := out.Write(r); err != nil {
				return err
			}
		}
	}
	return out.Close()
}

// fleetPack gives the first records of one pack's log, the board and the pack
// in front.
func fleetPack(n, records int) ([]logbook.Record, error) {
	cfg := simulate.Preset(fleetStyles[n%len(fleetStyles)], uint64(n))
	cfg.Pack.ID, cfg.Board.ID = fmt.Sprintf("fleet-%04d", n), fmt.Sprintf("deck-%04d", n)
	cfg.Pack.Name, cfg.Board.Name = fmt.Sprintf("Fleet pack %d (invented)", n), fmt.Sprintf("Deck %d (invented)", n)
	for years := 2.0; ; years *= 2 {
		cfg.Years = years
		log, err := simulate.Run(cfg)
		if err != nil {
			return nil, err
		}
		if len(log.Records) < records {
			continue
		}
		for _, r := range log.Records {
			h := logbook.HeadOf(r)
			if h.ID != cfg.Pack.ID && h.ID != cfg.Board.ID {
				h.ID = fmt.Sprintf("%s-%s", cfg.Pack.ID, h.ID)
			}
		}
		return log.Records[:records], nil
	}
}

func TestFleetTmp(t *testing.T) {
	name := os.Getenv("FLEET")
	if name == "" {
		t.Skip()
	}
	f, _ := os.Create(filepath.Clean(name))
	b := bufio.NewWriter(f)
	began := time.Now()
	if err := writeFleet(b, 2000, 500); err != nil {
		t.Fatal(err)
	}
	b.Flush()
	f.Close()
	t.Log(time.Since(began))
}
