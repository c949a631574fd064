// Package gpx turns a GPS track into the figures of a ride: how far, how long
// on the move, how fast and how steadily, how much up and down, and against
// which share of the wind.
//
// A track passes four stations, each a pass over the points in little memory:
//
//	Read     GPX 1.0 or 1.1 -> points, packed; faults name the line
//	arrange  points in the order of time; doubles and clock faults left out
//	walk     jumps left out; the rest cut into legs at breaks in reception
//	measure  per leg: stops found, the way smoothed against noise, measured
//
// Speeds that vary within some seconds are smoothed away with the noise, and a
// receiver whose error wanders by metres within ten seconds adds up to 1 % to the
// distance: analyse_test.go states what each kind of receiver may cost.
//
// Positions stay inside the package: a Summary holds none, and so no record.
//
// The package reads no clock, no file system and no environment.
package gpx
