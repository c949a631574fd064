package cli

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
)

// TestEveryPackIsAskedOnce asks more packs than are read at once.
func TestEveryPackIsAskedOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.store")
	var lines strings.Builder
	var want []string
	for i := range packsAtOnce + 2 {
		id := fmt.Sprintf("pack-%03d", i)
		want = append(want, id)
		fmt.Fprintf(&lines, `{"record":"pack","id":%q}`+"\n", id)
	}
	var said bytes.Buffer
	streams := Streams{In: strings.NewReader(lines.String()), Out: &said, Err: &said, Getenv: func(string) string { return "" }}
	if status := Main([]string{"--store", path, "import", "-"}, streams, time.Now); status != 0 {
		t.Fatalf("import: %s", said.String())
	}
	a := &app{streams: streams, storeFlag: path, now: time.Now()}
	got, err := askPacks(a, nil, a.now, func(h *logbook.History, _ *model.Fit) string { return h.Pack.ID })
	if err != nil || !slices.Equal(got.answers, want) || !slices.Equal(got.packs, want) {
		t.Errorf("asked %v, answered by %v, %v; want each of %d once", got.packs, got.answers, err, len(want))
	}
}
