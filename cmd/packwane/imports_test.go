package main

import (
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// inner are the packages of the project that a package may import, beside the
// standard library: imports run one way.
var inner = map[string][]string{
	"health/prose":    {},
	"health/units":    {"health/prose"},
	"health/logbook":  {"health/units", "health/prose"},
	"health/law":      {},
	"health/model":    {"health/logbook", "health/law", "health/units"},
	"health/report":   {"health/model", "health/logbook", "health/units", "health/law", "health/prose"},
	"health/simulate": {"health/logbook", "health/units"},
	"health/trace":    {"health/logbook", "health/units", "health/prose"},
	"health/gpx":      {"health/logbook", "health/units", "health/prose"},
	"store":           {"health/logbook", "health/units"},
	"charts":          {},
}

// only are the packages that alone may import a library directly.
var only = map[string]string{
	"go.etcd.io/bbolt":                 "packwane/store",
	"github.com/wcharczuk/go-chart/v2": "packwane/charts",
	"github.com/spf13/cobra":           "packwane/cmd/packwane/internal/cli",
}

// TestImportsRunOneWay holds what `go list -deps` tells against the two tables.
func TestImportsRunOneWay(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "-f", "{{if not .Standard}}{{.ImportPath}}: {{join .Imports \" \"}}{{end}}", "packwane/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	seen := 0
	for line := range strings.Lines(string(out)) {
		path, list, _ := strings.Cut(strings.TrimSpace(line), ": ")
		short, own := strings.CutPrefix(path, "packwane/")
		if !own {
			continue
		}
		allowed, ruled := inner[short]
		if ruled {
			seen++
		}
		for _, imported := range strings.Fields(list) {
			if name, ok := strings.CutPrefix(imported, "packwane/"); ok && ruled && !slices.Contains(allowed, name) {
				t.Errorf("%s imports %s: it may import %v", path, imported, allowed)
			}
			for library, home := range only {
				if (imported == library || strings.HasPrefix(imported, library+"/")) && path != home {
					t.Errorf("%s imports %s: %s alone may", path, imported, home)
				}
			}
			if strings.HasPrefix(short, "health/") && (imported == "os" || imported == "net") {
				t.Errorf("%s imports %s: what stands below health reads no clock, file or environment", path, imported)
			}
		}
	}
	if seen != len(inner) {
		t.Errorf("%d of the %d packages of the table exist", seen, len(inner))
	}
}
