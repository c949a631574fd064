// Package law holds the physics of a pack, a board and a rider as pure
// functions of parameters: the cell's open-circuit curve, its resistance, its
// ageing and the road load. Every formula and constant names its source and
// where it holds; a value from memory is marked so. The package knows no
// records and fits nothing.
package law
