package cli

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/logbook"
	"packwane/health/prose"
	"packwane/health/units"
)

// fieldNote marks the flags that come from a field table, and the command that
// has them: the help shows the table instead.
const fieldNote = "packwane_field"

// flagName and fieldName turn the name of a field into that of its flag.
func flagName(field string) string { return strings.ReplaceAll(field, "_", "-") }

// mentions reports whether the call may lead to the command of that name. What
// it does not lead to need not be made: a hundred flags take a millisecond.
func (a *app) mentions(name string) bool {
	return a.called == nil || slices.Contains(a.called, name)
}

// addFieldFlags gives c a flag for every name of the fields of kind k. The
// function returned collects what was given.
func (a *app) addFieldFlags(c *cobra.Command, k logbook.Kind) func() []typed.Word {
	values := pflag.NewFlagSet("fields", pflag.ContinueOnError)
	if !a.mentions(k.String()) {
		return func() []typed.Word { return nil }
	}
	for _, n := range typed.Names(k) {
		name := flagName(n.Text)
		values.String(name, "", n.Fields[0].Doc)
		flag := values.Lookup(name)
		flag.Hidden = n.Full && typed.Base(n.Fields[0]) != n.Text
		flag.Annotations = map[string][]string{fieldNote: {n.Text}}
		if n.Fields[0].Type == logbook.TypeFlag {
			flag.NoOptDefVal = "yes"
		}
		c.Flags().AddFlag(flag)
		if enum := n.Fields[0].Enum; enum != nil {
			c.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(enum, cobra.ShellCompDirectiveNoFileComp))
		}
	}
	return func() []typed.Word {
		var words []typed.Word
		values.VisitAll(func(f *pflag.Flag) {
			if f.Changed {
				words = append(words, typed.Word{Name: f.Name, Text: f.Value.String()})
			}
		})
		return words
	}
}

// splitWords parts arguments into plain words and name=value pairs.
func splitWords(args []string) (plain []string, words []typed.Word) {
	for _, arg := range args {
		name, text, ok := strings.Cut(arg, "=")
		if !ok {
			plain = append(plain, arg)
			continue
		}
		words = append(words, typed.Word{Name: name, Text: text})
	}
	return plain, words
}

// fieldHelp lists the fields of kind k for a help text.
func fieldHelp(k logbook.Kind) string {
	var names, docs []string
	wide := 0
	for _, f := range typed.Settable(k) {
		name := flagName(shortName(k, f))
		names, docs = append(names, name), append(docs, fieldDoc(f))
		wide = max(wide, len(name))
	}
	var b strings.Builder
	b.WriteString("Fields, as name=value or --name value:\n")
	for i, name := range names {
		b.WriteString(wrap("  "+pad(name, wide+2, false), docs[i], mostColumns))
	}
	return b.String()
}

// shortName returns the name without the unit where that means one field only.
func shortName(k logbook.Kind, f logbook.Field) string {
	n, err := typed.Find(k, typed.Base(f))
	if err != nil || len(n.Fields) != 1 || n.Fields[0].Name != f.Name {
		return f.Name
	}
	return n.Text
}

func fieldDoc(f logbook.Field) string {
	doc := f.Doc
	switch {
	case f.Enum != nil:
		doc += ": " + prose.List(f.Enum, "or")
	case f.Type == logbook.TypeFlag:
		doc += ": yes or no"
	case f.Type == logbook.TypeTime:
		doc += ", such as \"yesterday 18:30\""
	case f.Type == logbook.TypeNumber && f.Unit.String() != "":
		doc += " [" + unitsTaken(f.Unit) + "]"
	}
	return doc
}

// unitsTaken names the metric and, where it differs, the imperial unit.
func unitsTaken(u units.Unit) string {
	metric, imperial := units.Symbol(u, units.Metric), units.Symbol(u, units.Imperial)
	if metric == imperial {
		return metric
	}
	return metric + ", " + imperial
}
