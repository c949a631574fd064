package store

import (
	"flag"
	"os"
	"testing"
)

// asked is for long runs of the random tests:
// go test ./store -run 'Killed' -timeout 1h -args -rounds 500
var asked = flag.Int("rounds", 0, "run each random test for so many rounds")

// rounds is how many rounds a random test runs.
func rounds(short, usual int) int {
	switch {
	case *asked > 0:
		return *asked
	case testing.Short():
		return short
	}
	return usual
}

// The test binary is also the program that the crash test kills.
func TestMain(m *testing.M) {
	if path := os.Getenv("PACKWANE_TEST_CHILD"); path != "" {
		os.Exit(crashChild(path, os.Getenv("PACKWANE_TEST_FROM")))
	}
	os.Exit(m.Run())
}
