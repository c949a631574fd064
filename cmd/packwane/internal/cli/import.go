package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/store"
)

func newImport(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "import FILE|-",
		Short:   "Read records from JSON Lines or CSV into the log",
		GroupID: groupLog,
		Long: `Reads records from a file, or from standard input for "-", as JSON Lines or CSV
(told by the content). Importing is all or nothing, and importing the same file
twice changes nothing. Other content under a known id is refused unless it
carries a higher rev; "removed": true with a higher rev removes.`,
		Example: `  packwane import rides.csv
  packwane export | packwane --store copy.store import -`,
		Args: between(1, 1),
		RunE: func(_ *cobra.Command, args []string) error { return a.importFile(args[0]) },
	}
}

func (a *app) importFile(name string) error {
	src, size, err := a.openInput(name)
	if err != nil {
		return err
	}
	defer src.Close()
	if name == "-" {
		name = "standard input"
	}
	progress := a.progress(size)
	path, _ := a.storePath()
	entries := logbook.Read(io.TeeReader(src, progress), name)
	staged, err := store.Stage(path, entries)
	progress.Clear()
	if err != nil {
		return err
	}
	defer staged.Close()
	var summary store.Summary
	err = a.change(func(s *store.Store) (err error) {
		summary, err = s.ImportStaged(staged, "import "+name, a.now)
		return err
	})
	if err != nil {
		return err
	}
	return a.showSummary(summary)
}

// openInput opens a file that the call names; "-" is standard input. The size
// is -1 where it is not known.
func (a *app) openInput(name string) (io.ReadCloser, int64, error) {
	if name == "-" {
		return io.NopCloser(a.streams.In), -1, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, 0, wrong("cannot read %s: %w", name, plainPath(err))
	}
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = errors.New("is a folder: want a file of records, JSON Lines or CSV")
	}
	if err != nil {
		f.Close()
		return nil, 0, wrong("cannot read %s: %w", name, plainPath(err))
	}
	if !info.Mode().IsRegular() {
		return f, -1, nil
	}
	return f, info.Size(), nil
}

// progress returns a bar of bytes on standard error for a large file where a
// person looks at it, else one that shows nothing.
func (a *app) progress(size int64) *progressbar.ProgressBar {
	const large = 4 << 20
	if !a.streams.ErrTerminal || size >= 0 && size < large {
		return progressbar.DefaultBytesSilent(size)
	}
	return progressbar.NewOptions64(size,
		progressbar.OptionSetWriter(a.streams.Err),
		progressbar.OptionSetDescription("reading"),
		progressbar.OptionShowBytes(true),
		progressbar.OptionSetWidth(24),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionClearOnFinish())
}

// importJSON is the document of import --json.
type importJSON struct {
	Added     map[string]int `json:"added"`
	Changed   map[string]int `json:"changed"`
	Unchanged map[string]int `json:"unchanged"`
}

func byName(counts map[logbook.Kind]int) map[string]int {
	out := map[string]int{}
	for k, n := range counts {
		if n > 0 {
			out[k.String()] = n
		}
	}
	return out
}

func (a *app) showSummary(s store.Summary) error {
	if a.json {
		return a.printJSON(importJSON{byName(s.Added), byName(s.Changed), byName(s.Unchanged)})
	}
	said := false
	for _, part := range []struct {
		verb   string
		counts map[logbook.Kind]int
	}{{"added", s.Added}, {"changed", s.Changed}, {"unchanged", s.Unchanged}} {
		if words := typed.Counts(part.counts); words != "" {
			fmt.Fprintf(a.streams.Out, "%s", wrap(pad(part.verb, 11, false), words, a.streams.width()))
			said = true
		}
	}
	if !said {
		fmt.Fprintln(a.streams.Out, "no records")
	}
	return nil
}
