package cli

import (
	"github.com/spf13/cobra"

	"packwane/health/logbook"
)

// addCommands hangs every command under the root.
func addCommands(root *cobra.Command, a *app) {
	root.AddCommand(
		newThings(a, logbook.KindBoard, "Add, list and show boards"),
		newThings(a, logbook.KindPack, "Add, list and show packs"),
		newLog(a),
		newImport(a),
		newExport(a),
		newList(a),
		newAmend(a),
		newRemove(a),
		newRestore(a),
		newUndo(a),
		newRedo(a),
		newHistory(a),
		newPrefer(a),
		newVersion(a),
	)
}
