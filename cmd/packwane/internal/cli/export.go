package cli

import (
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"packwane/health/logbook"
	"packwane/store"
)

func newExport(a *app) *cobra.Command {
	var format string
	var history bool
	c := &cobra.Command{
		Use:     "export [FILE|-]",
		Short:   "Write the log as JSON Lines or CSV",
		GroupID: groupLog,
		Long: `Writes every record to a file, or to standard output. A file appears only once
it is whole. The format follows the ending .csv, else it is JSON Lines. With
--history every revision is written, removals too: importing that into an empty
store gives the same log with the same past.`,
		Example: `  packwane export log.jsonl --history
  packwane export --format csv > log.csv`,
		Args: between(0, 1),
		RunE: func(_ *cobra.Command, args []string) error {
			name := "-"
			if len(args) == 1 {
				name = args[0]
			}
			write, err := writerFor(format, name)
			if err != nil {
				return err
			}
			return a.export(name, write, history)
		},
	}
	c.Flags().StringVar(&format, "format", "", "`FORMAT` jsonl or csv (else by the file's ending)")
	c.Flags().BoolVar(&history, "history", false, "every revision, not only the latest")
	c.RegisterFlagCompletionFunc("format", cobra.FixedCompletions([]string{"jsonl", "csv"}, cobra.ShellCompDirectiveNoFileComp))
	return c
}

func writerFor(format, name string) (func(io.Writer) logbook.Writer, error) {
	if format == "" && strings.EqualFold(filepath.Ext(name), ".csv") {
		format = "csv"
	}
	switch format {
	case "csv":
		return logbook.NewCSVWriter, nil
	case "jsonl", "":
		return logbook.NewJSONWriter, nil
	}
	return nil, wrong("--format %q: want jsonl or csv", format)
}

func (a *app) export(name string, format func(io.Writer) logbook.Writer, history bool) error {
	if name != "-" {
		path, _ := a.storePath()
		if err := notTheStore(path, name); err != nil {
			return err
		}
		return a.read(func(s *store.Store) error {
			return a.writeOutput(name, func(w io.Writer) error { return writeAll(s, format(w), history) })
		})
	}
	// Whoever reads standard output may take their time: the store is not held
	// for them.
	whole := &spill{}
	defer whole.close()
	if err := a.read(func(s *store.Store) error { return writeAll(s, format(whole), history) }); err != nil {
		return err
	}
	return whole.copyTo(a.streams.Out)
}

func writeAll(s *store.Store, out logbook.Writer, history bool) error {
	for r, err := range s.All(history) {
		if err == nil {
			err = out.Write(r)
		}
		if err != nil {
			return err
		}
	}
	return out.Close()
}
