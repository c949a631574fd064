package cli

import (
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"packwane/store"
)

func newCompact(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "compact",
		Short:   "Give back the room that the store no longer needs",
		GroupID: groupStore,
		Long: `Writes the store anew without the room that earlier changes left in its file.
Every revision, every change and all preferences come along. The new file is
verified before it takes the place of the old one, and only where it is smaller.`,
		Example: `  packwane compact`,
		Args:    between(0, 0),
		RunE:    func(*cobra.Command, []string) error { return a.compact() },
	}
}

// compactJSON is the document of compact.
type compactJSON struct {
	Before int64 `json:"bytes_before"`
	After  int64 `json:"bytes_after"`
}

func (a *app) compact() error {
	if err := a.read(func(*store.Store) error { return nil }); err != nil { // a missing store is not to be made here
		return err
	}
	var sizes compactJSON
	err := a.change(func(s *store.Store) error {
		var err error
		sizes.Before, sizes.After, err = s.Compact()
		return err
	})
	if err != nil {
		return err
	}
	words := "nothing to gain: the store has " + bytesWords(sizes.Before)
	if sizes.After < sizes.Before {
		words = fmt.Sprintf("compacted from %s to %s", bytesWords(sizes.Before), bytesWords(sizes.After))
	}
	return a.done(sizes, "%s", words)
}

// bytesWords says a size with two or three digits: "64 kB", "1.3 MB".
func bytesWords(n int64) string {
	v, unit := float64(n), "bytes"
	for _, next := range []string{"kB", "MB", "GB", "TB"} {
		if v < 999.5 {
			break
		}
		v, unit = v/1000, next
	}
	digits := 0
	if unit != "bytes" && v < 9.95 {
		digits = 1
	}
	return strconv.FormatFloat(v, 'f', digits, 64) + " " + unit
}
