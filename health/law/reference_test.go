package law

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// referenceRows reads one file of the reference folder as rows by column
// name, or skips the test where the folder is not set.
func referenceRows(t *testing.T, file string) []map[string]string {
	t.Helper()
	dir := os.Getenv("PACKWANE_REFERENCE")
	if dir == "" {
		t.Skip("PACKWANE_REFERENCE is not set")
	}
	f, err := os.Open(filepath.Join(dir, file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, name := range rows[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[column], 64)
	if err != nil {
		t.Fatalf("%s: %v", column, err)
	}
	return v
}

// near fails where got lies farther from want than tolerance.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.6g, want %.6g to %.2g", what, got, want, tolerance)
	}
}

func referenceDir(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("PACKWANE_REFERENCE")
	if dir == "" {
		t.Skip("PACKWANE_REFERENCE is not set")
	}
	return dir
}
