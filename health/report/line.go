package report

import "packwane/health/units"

// Line is one figure of an answer, for whoever lays the answer out: which
// figures there are, in which order, and which warnings belong to each is
// decided once for the command line, the page and the documents.
type Line struct {
	Key      string // its name in the report's JSON
	Label    string // what it is, in words that need no heading
	Estimate *Estimate
	Unit     units.Unit
	Per      string   // its unit where no record field has it: "% a month"
	Why      []string // codes of the warnings that say why it is in doubt or, the first that is there, unknown
	Remark   string   // "" for most
}

// Given is a figure of an answer that is no estimate.
type Given struct {
	Label  string
	Value  float64
	Unit   units.Unit
	Remark string
	Alarm  bool // the remark must not be overlooked
}

// What stands in the way of a figure, by the codes of the warnings.
var (
	whyNoRange      = []string{"range_unknown", "no_road_rides", "capacity_unknown"}
	whyNoCapacity   = []string{"capacity_unknown"}
	whyNoResistance = []string{"resistance_unknown"}
)

// tooSmall is the remark of a share that the log cannot tell from none.
const tooSmall = "too small to tell"
