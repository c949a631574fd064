// Package trace reads time series of a pack's voltage and current, as packs,
// controllers, chargers and bench testers log them, and makes charges, rides
// and checks of them.
//
// # The way of the data
//
//	source    bytes: unpack gzip or zstd, bring UTF-16 and marks to plain bytes
//	head      where the table begins, what parts its fields, which column is what
//	block     256 KiB of whole lines each, parsed to columns by all cores
//	cursor    from here on in the order of the rows, by one goroutine: time that
//	          jumps back, repeated rows, single wild values, gaps
//	window    at most 64 rows or 10 s of one direction of current: its charge,
//	          energy, extremes and means. All that follows looks at windows
//	stretch   windows of one direction of current
//	segment   charge, ride or rest
//	records   what a rider keeps
//
// Every figure is a function of the bytes and the options alone: neither the
// number of cores nor the sizes in which the bytes arrive change a bit of it.
//
// # Signs and units
//
// Positive current charges. Volts, amperes and seconds throughout; charge is
// summed in ampere-seconds and energy in joules and turned into Ah and Wh at
// the end.
//
// The package reads no clock, no file system and no environment.
package trace
