// Package store keeps a rider's records in one file: every revision of every
// record, what was done when, and a few settings.
//
// The file is a bbolt database. Each value carries a checksum over its key and
// itself, and each group of entries (the records of one pack, say) a count and
// an order-free digest that are checked whenever the group is read as a whole
// or something is said not to be there. So a damaged file gives ErrCorrupt,
// never a record that was not stored and never a list with one missing.
//
//	meta      format, state
//	records   owner 0 time kind id       -> revision, body     (current, not removed)
//	history   hash kind id 0 revision    -> revision, body     (older or removed)
//	ids       hash kind id               -> where the current revision stands
//	links     board 0 pack               -> rides and packs that tie the two
//	sums      bucket, group              -> count and digest of the group
//	journal   action, part               -> what each action changed, for Undo
//	settings  name                       -> text
//
// The owner of a record is its pack, or the board of a board, setup or
// service; so the records of a pack stand together in the order of time. The
// body is the record's canonical JSON (logbook.AppendJSON) without id and rev,
// which stand in key and value.
//
// A store is locked from Open to Close: open, load, close, then compute. A
// Store is used by one goroutine at a time.
package store
