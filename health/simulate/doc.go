// Package simulate invents riders with known truth: it lets a pack of cells
// age, a board roll and a person ride, charge, measure and mistype for some
// years, and hands back two things: the records that the person would have
// kept (see package logbook), and the Truth behind them, which no record
// tells: what a full cycle really delivers, how far it really goes, which
// entries are wrong.
//
// The laws here are the package's own and share no code with the project's
// model, so that the model can be scored against them. They are meant to be
// like the world rather than like a fitter's equations: a ride is stepped
// through in segments of some 40 seconds with gusts, hills and a restless
// throttle, the resistance is the sum of parts with temperatures of their own,
// the fade has a memory, and the last kilometre ends when a peak of current
// pulls the voltage to the limit.
//
// Everything is a pure function of a Config. The same Config gives the same
// records, byte for byte, on the same processor architecture. No figure here
// describes a real person, place or product.
package simulate
