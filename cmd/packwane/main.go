// Command packwane keeps the log of light electric boards and their packs and
// answers from it: what a full charge delivers now, how far it goes, how that
// will shrink and what is due.
package main

import (
	"os"
	"time"

	"packwane/cmd/packwane/internal/cli"
)

func main() {
	os.Exit(cli.Main(os.Args[1:], cli.System(), time.Now))
}
