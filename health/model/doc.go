// Package model explains every record of one pack's history by one model of
// pack, board and rider, and returns draws of its parameters. Every figure
// that packwane reports is read off these draws.
//
// # The state and the records
//
// The hidden state is the deficit x of charge from full, in ampere-hours. It
// is carried from record to record by a Kalman filter of three unknowns: the
// deficit at the start, the charge q that a ride took or a charge gave, and
// the error m that the record's meter made that day (its Ah and Wh share it,
// so that one sensor's two figures are no two proofs). A ride and the charge
// that refills it share q through the state. What the filter did not expect
// (the innovations over their standard deviations) are the residuals of the
// fit; misreadings are told by weights of a Student distribution.
//
// # The parameters
//
// The logarithm of the capacity at knots along the pack's life, so that the
// log and not a formula says what it was; the cell's resistance, its growth,
// its dependence on charge level and temperature; deformations of the
// open-circuit curve; the road load; meters, routes, riders and sessions. Each
// has a sourced prior (see params.go) and is scaled by it.
//
// # Draws
//
// The mode is found by damped Gauss-Newton steps. At the mode the knots'
// likelihood, freed from their weak prior, is weighed against a library of
// measured fade shapes (law.Shapes): a mixture over shapes, each sampled about
// its own mode and weighed by importance (resample.go), gives the capacity as
// new, now and later. The other parameters follow by conditioning.
package model
