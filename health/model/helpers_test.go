package model_test

import (
	"os"
	"strconv"
)

// envCount returns the whole number that an environment variable holds, else
// usual.
func envCount(name string, usual int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil && n > 0 {
		return n
	}
	return usual
}
