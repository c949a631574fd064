package prose

import (
	"strings"
	"testing"
)

func TestProse(t *testing.T) {
	for _, tc := range []struct{ got, want string }{
		{Grouped(0), "0"}, {Grouped(9999), "9999"}, {Grouped(10000), "10 000"}, {Grouped(1234567), "1 234 567"},
		{Plural(1, "ride"), "1 ride"}, {Plural(2, "ride"), "2 rides"}, {Plural(0, "pass"), "0 passes"}, {Plural(2, "box"), "2 boxes"}, {Plural(12000, "ride"), "12 000 rides"},
		{List(nil, "or"), ""}, {List([]string{"a"}, "or"), "a"}, {List([]string{"a", "b"}, "and"), "a and b"}, {List([]string{"a", "b", "c"}, "or"), "a, b or c"},
		{Spaced("cells_replaced"), "cells replaced"},
		{Capital(""), ""}, {Capital("no pack"), "No pack"}, {Capital("über"), "Über"}, {Capital("\xff"), "\xff"}, {Capital("14 km"), "14 km"},
		{Clip("short"), "short"}, {Clip(strings.Repeat("a", 41)), strings.Repeat("a", 40) + "..."}, {Clip(strings.Repeat("a", 39) + "é"), strings.Repeat("a", 39) + "..."}, {Clip(strings.Repeat("\x80", 50)), "..."},
		{Sentence(""), ""}, {Sentence("no pack"), "No pack."}, {Sentence("Done."), "Done."}, {Sentence("why?"), "Why?"},
	} {
		if tc.got != tc.want {
			t.Errorf("got %q, want %q", tc.got, tc.want)
		}
	}
}
