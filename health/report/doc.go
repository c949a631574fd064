// Package report answers one question a file from the draws of the model:
// what is the pack now, what will it be, what is due. A report is one struct
// that the command line encodes as JSON or prints as text, that charts draw
// and that pages embed; no figure is worked out anywhere else.
package report
