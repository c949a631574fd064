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
		newCompletion(a),
		newDemo(a),
		newVersion(a),
		newHealth(a),
		newOutlook(a),
		newHindcast(a),
		newExplain(a),
		newCompare(a),
		newPlan(a),
		newReach(a),
		newReport(a),
		newDue(a),
		newAudit(a),
		newChart(a),
		newTrack(a),
		newTrace(a),
		newServe(a),
		newVerify(a),
		newBackup(a),
		newCompact(a),
		newSalvage(a),
	)
	plainUse(root)
}

// plainUse keeps the word for flags out of every usage line: the flags are
// listed below it.
func plainUse(c *cobra.Command) {
	c.DisableFlagsInUseLine = true
	for _, child := range c.Commands() {
		plainUse(child)
	}
}
