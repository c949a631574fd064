// Package logbook holds the records that a rider keeps: the seven kinds, one
// field table each, their JSON Lines and CSV forms, what makes a record valid,
// and one pack's history cut at a point in time.
//
// The field table of a kind (see Fields) is the only list of that kind's
// fields: both file formats, the command-line flags, the forms, the range
// checks and the error texts are driven by it.
//
// The package reads no clock, no file system and no environment.
package logbook
