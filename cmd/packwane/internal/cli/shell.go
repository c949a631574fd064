package cli

import (
	"strings"

	"packwane/health/prose"

	"github.com/spf13/cobra"
)

// shells are those that completion can be written for.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func newCompletion(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "completion SHELL",
		Short:   "Print a script by which a shell completes commands, packs and ids",
		GroupID: groupOther,
		Long: `Prints a script for bash, zsh, fish or powershell. Once the shell has read it,
the tabulator key completes commands, flags, packs, boards, record ids and the
names of fields.`,
		Example: `  source <(packwane completion bash)
  packwane completion fish > ~/.config/fish/completions/packwane.fish`,
		Args:      between(1, 1),
		ValidArgs: shells,
		RunE: func(c *cobra.Command, args []string) error {
			root, out := c.Root(), a.streams.Out
			switch strings.ToLower(args[0]) {
			case "bash":
				return root.GenBashCompletionV2(out, true)
			case "zsh":
				return root.GenZshCompletion(out)
			case "fish":
				return root.GenFishCompletion(out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(out)
			}
			return wrong("shell %q: want %s", args[0], prose.List(shells, "or"))
		},
	}
}

func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:     "help [COMMAND]",
		Short:   "Show what a command is for and how it is called",
		GroupID: groupOther,
		Example: "  packwane help log ride",

		DisableFlagsInUseLine: true, // it is hung in when the others have been seen to
		Args:                  cobra.ArbitraryArgs,
		ValidArgsFunction: func(c *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			about, rest, err := c.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return nil, noFiles
			}
			var names []string
			for _, child := range about.Commands() {
				if child.IsAvailableCommand() {
					names = append(names, child.Name()+"\t"+child.Short)
				}
			}
			return names, noFiles
		},
		RunE: func(c *cobra.Command, args []string) error {
			about, rest, err := c.Root().Find(args)
			if err != nil {
				return asWrong(err)
			}
			if len(rest) > 0 {
				return chooseCommand(about, rest)
			}
			return about.Help()
		},
	}
}
