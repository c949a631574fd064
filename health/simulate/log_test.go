package simulate

import (
	"bytes"
	"slices"
	"testing"
	"time"

	"packwane/health/logbook"
)

// run runs a preset and fails the test where that cannot be.
func run(t testing.TB, cfg Config) *Log {
	t.Helper()
	l, err := Run(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func bytesOf(l *Log) []byte {
	var out []byte
	for _, r := range l.Records {
		out = append(logbook.AppendJSON(out, r), '\n')
	}
	return out
}

func TestEveryRecordIsValidAndReadsBackTheSame(t *testing.T) {
	for _, style := range Styles {
		for seed := range uint64(6) {
			l := run(t, Preset(style, seed))
			seen := map[string]bool{}
			for _, r := range l.Records {
				line := logbook.AppendJSON(nil, r)
				if err := logbook.Validate(r); err != nil {
					t.Fatalf("%v %d: %v in %s", style, seed, err, line)
				}
				key := r.Kind().String() + " " + logbook.HeadOf(r).ID
				if seen[key] {
					t.Fatalf("%v %d: %s twice", style, seed, key)
				}
				seen[key] = true
				back, err := logbook.ParseJSON(line)
				if err != nil {
					t.Fatalf("%v %d: %v in %s", style, seed, err, line)
				}
				if again := logbook.AppendJSON(nil, back); !bytes.Equal(line, again) {
					t.Fatalf("%v %d: %s reads back as %s", style, seed, line, again)
				}
			}
		}
	}
}

func TestRecordsDoNotOverlap(t *testing.T) {
	type span struct {
		from, to time.Time
		id       string
	}
	for _, style := range Styles {
		l := run(t, Preset(style, 3))
		var spans []span
		for _, r := range l.Records {
			switch r := r.(type) {
			case *logbook.Ride:
				spans = append(spans, span{r.At, r.End, r.ID})
			case *logbook.Charge:
				if !r.Start.IsZero() {
					spans = append(spans, span{r.Start, r.At, r.ID})
				}
			}
		}
		slices.SortFunc(spans, func(a, b span) int { return a.from.Compare(b.from) })
		for i, s := range spans {
			if !s.to.After(s.from) {
				t.Errorf("%v: %s takes no time", style, s.id)
			}
			if i > 0 && s.from.Before(spans[i-1].to) {
				t.Errorf("%v: %s begins before %s has ended", style, s.id, spans[i-1].id)
			}
			if s.to.After(l.Truth.End) {
				t.Errorf("%v: %s ends after the log", style, s.id)
			}
		}
	}
}

func TestTheSameSeedGivesTheSameBytes(t *testing.T) {
	for _, style := range Styles {
		a, b := run(t, Preset(style, 11)), run(t, Preset(style, 11))
		if !bytes.Equal(bytesOf(a), bytesOf(b)) {
			t.Errorf("%v: two runs differ", style)
		}
		if bytes.Equal(bytesOf(a), bytesOf(run(t, Preset(style, 12)))) {
			t.Errorf("%v: another seed gives the same log", style)
		}
	}
}

func TestKeepingChangesNothingOfWhatHappened(t *testing.T) {
	cfg := Preset(Messy, 5)
	careless := run(t, cfg)
	cfg.Keeping = richKeeping()
	cfg.Keeping.CheckEveryDays = 60
	careful := run(t, cfg)
	end := careless.Truth.End
	if a, b := careless.Truth.At(end), careful.Truth.At(end); a != b {
		t.Errorf("truth depends on the keeping: %+v and %+v", a, b)
	}
	if len(careless.Records) >= len(careful.Records) {
		t.Errorf("%d records kept carelessly, %d carefully", len(careless.Records), len(careful.Records))
	}
}
