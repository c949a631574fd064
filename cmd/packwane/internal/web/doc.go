// Package web is the local page: the same store, the same report functions and
// the same typed words as the command line, rendered on the server as pages
// that work without script.
//
// # The flow of one page
//
//	guard     host, origin, rate, size and session are looked at first
//	load      the store is opened, one load is read, the store is closed
//	answers   a kept fit answers what the page asks; no figure is worked out here
//	page      the answers become strings and pictures, and a template a whole page
//	respond   the page is sent, compressed, once it is whole
//
// A write goes the same way: words -> Desk.Draft -> what was understood is
// shown -> Draft.Keep, in one opening of the store.
//
// # Adding a page
//
// A page is one file: it calls addPage with its address and a function that
// returns a view. The blocks in block.go (figures, tables, pictures, notes)
// are enough for most; a page that needs more brings a template of its own.
//
// # What is trusted
//
// Nothing that comes with a request. Names of files are never taken from one,
// text is escaped by html/template and by charts, and scripts and styles come
// from this server alone (see guard.go).
package web
