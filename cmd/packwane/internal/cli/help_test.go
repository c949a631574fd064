package cli

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
)

// newTestApp returns an app with streams of its own, on terminals where
// terminal is set.
func newTestApp(input string, terminal bool) (a *app, out, errs *bytes.Buffer) {
	out, errs = &bytes.Buffer{}, &bytes.Buffer{}
	now, err := time.Parse(time.RFC3339, scriptNow)
	if err != nil {
		panic(err)
	}
	env := func(string) string { return "" }
	s := Streams{In: strings.NewReader(input), Out: out, Err: errs, Getenv: env}
	if terminal {
		s.InTerminal, s.OutTerminal, s.ErrTerminal, s.Columns = true, true, true, 80
	}
	return &app{streams: s, now: now}, out, errs
}

// TestHelp prints the help of every command: it fits 80 columns, shows an
// example wherever there is something to call, and every example names
// commands and flags that exist.
func TestHelp(t *testing.T) {
	a, out, _ := newTestApp("", false)
	root := newRoot(a)
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		out.Reset()
		a.help(c)
		for _, line := range strings.Split(out.String(), "\n") {
			if columns(line) > mostColumns {
				t.Errorf("%s --help has a line of %d columns: %s", c.CommandPath(), columns(line), line)
			}
		}
		if c.Short == "" || c.GroupID == "" && c.Parent() == root {
			t.Errorf("%s has no short text or no group", c.CommandPath())
		}
		for _, line := range strings.Split(c.Example, "\n") {
			checkExample(t, root, strings.TrimSpace(line))
		}
		for _, child := range c.Commands() {
			visit(child)
		}
	}
	visit(root)
}

// TestCommandCalled makes the one command that a call names, and all where it
// names none.
func TestCommandCalled(t *testing.T) {
	for _, m := range makers {
		a, _, _ := newTestApp("", false)
		if c := m.make(a); c.Name() != m.name {
			t.Errorf("the maker of %s makes %s", m.name, c.Name())
		}
	}
	for _, c := range []struct {
		call []string
		want string // "" for all
	}{
		{nil, ""},
		{[]string{"--help"}, ""},
		{[]string{"-h"}, ""},
		{[]string{"help", "due"}, ""},
		{[]string{"__complete", "due", ""}, ""},
		{[]string{"duo", "due"}, ""},
		{[]string{"due"}, "due"},
		{[]string{"log", "ride", "kite-a"}, "log"},
		{[]string{"--json", "list", "due"}, "list"},
		{[]string{"--store", "due", "list"}, "list"},
		{[]string{"--store=due", "--as-of", "2026-05-03", "list"}, "list"},
	} {
		a, _, _ := newTestApp("", false)
		a.called = c.call
		got := newRoot(a).Commands()
		if c.want == "" && len(got) != len(makers) || c.want != "" && (len(got) != 1 || got[0].Name() != c.want) {
			t.Errorf("%q makes %d commands, want %q", c.call, len(got), c.want)
		}
	}
}

// checkExample resolves the command of an example line and parses its flags.
func checkExample(t *testing.T, root *cobra.Command, line string) {
	t.Helper()
	call, ok := strings.CutPrefix(line, "packwane ")
	if !ok {
		return
	}
	call, _, _ = strings.Cut(call, "|")
	call, _, _ = strings.Cut(call, ">")
	var args []string
	for i, part := range strings.Split(call, `"`) {
		if i%2 == 0 {
			args = append(args, strings.Fields(part)...)
		}
	}
	c, rest, err := root.Find(args)
	if err != nil || c == root {
		t.Errorf("example %q calls no command: %v", line, err)
		return
	}
	for _, arg := range rest {
		name, isFlag := strings.CutPrefix(arg, "--")
		name, _, _ = strings.Cut(name, "=")
		if isFlag && c.Flag(name) == nil && c.Root().PersistentFlags().Lookup(name) == nil {
			t.Errorf("example %q has the flag %s that %s has not", line, arg, c.CommandPath())
		}
	}
}
