package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/prose"
	"packwane/store"
)

func newVerify(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "verify",
		Short:   "Check that the store is whole, record by record",
		GroupID: groupStore,
		Long: `Reads the whole store: decodes every revision of every record, and checks every
checksum, sum and reference. It says what is wrong and what the way out is, and
ends with status 1 where something is. Nothing is changed.`,
		Example: `  packwane verify
  packwane --store backup.store verify --json`,
		Args: between(0, 0),
		RunE: func(*cobra.Command, []string) error { return a.verify() },
	}
}

// verifyJSON is the document of verify and, for the copy, of backup and
// restore.
type verifyJSON struct {
	Store     string         `json:"store"`
	Whole     bool           `json:"whole"`
	Bytes     int64          `json:"bytes"`
	Format    int            `json:"format,omitempty"`
	Records   map[string]int `json:"records"`
	Removed   int            `json:"removed"`
	Revisions int            `json:"revisions"`
	Changes   int            `json:"changes"`
	Settings  int            `json:"settings"`
	Problems  []string       `json:"problems"`
	More      int            `json:"more_problems"` // beyond those
}

func verifyOf(r store.Report) verifyJSON {
	v := verifyJSON{
		Store: r.Path, Whole: len(r.Problems) == 0, Bytes: r.Bytes, Format: r.Format, Records: byName(r.Records), Removed: r.Removed,
		Revisions: r.Revisions, Changes: r.Actions, Settings: r.Settings, Problems: r.Problems, More: r.More,
	}
	if v.Problems == nil {
		v.Problems = []string{}
	}
	return v
}

func (a *app) verify() error {
	path, named := a.storePath()
	r, err := store.VerifyFile(path, a.wait)
	if !isAny(err, store.ErrLocked) {
		a.waited("")
	}
	if isAny(err, store.ErrNoStore) && !named {
		return &fault{statusWrong, errNoLog}
	}
	if len(r.Problems) == 0 && err != nil {
		return err
	}
	if a.json {
		if perr := a.printJSON(verifyOf(r)); perr != nil {
			return perr
		}
	} else {
		a.showVerified(r)
	}
	if err != nil {
		return failed("%s is damaged (%s): the way out is `packwane restore BACKUP`, or `packwane salvage OUT.jsonl` for what is whole", path, prose.Plural(len(r.Problems)+r.More, "problem"))
	}
	return nil
}

func (a *app) showVerified(r store.Report) {
	width := a.streams.width()
	if len(r.Problems) == 0 {
		fmt.Fprint(a.streams.Out, wrap("", fmt.Sprintf("%s is whole: %s.", r.Path, holds(r)), width))
		return
	}
	fmt.Fprint(a.streams.Out, wrap("", r.Path+" is damaged. What was found:", width))
	for _, p := range r.Problems {
		fmt.Fprint(a.streams.Out, wrap("  - ", p, width))
	}
	if r.More > 0 {
		fmt.Fprint(a.streams.Out, wrap("  - ", "and "+prose.Grouped(r.More)+" more", width))
	}
	fmt.Fprint(a.streams.Out, "\n"+wrap("", "The way out: leave the file as it is. With a backup, `packwane restore BACKUP` brings that back and keeps this file beside it. "+
		"Without one, or for what was logged since, `packwane salvage OUT.jsonl` writes every record that is whole, and `packwane --store NEW import OUT.jsonl` reads them into a new store. "+
		"Damage comes from disks and memory more often than from programs: look after both.", width))
}

// holds says what is in a whole store, and how large it is.
func holds(r store.Report) string {
	words := typed.Counts(r.Records)
	if words == "" {
		words = "no records"
	}
	if r.Removed > 0 {
		words += " (and " + prose.Grouped(r.Removed) + " removed)"
	}
	return fmt.Sprintf("%s; %s by %s, %s", words, prose.Plural(r.Revisions, "revision"), prose.Plural(r.Actions, "change"), bytesWords(r.Bytes))
}
