// Package charts draws the project's pictures: figures over time or over a number, waterfalls, bars, traces, and
// sheets that put several of them on one page, as PNG and as SVG, for the screen, the phone and the printer.
//
// It takes plain numbers and words (see [Figure], [Waterfall], [Bars], [Trace], [Sheet]) and knows nothing of packs,
// rides or models. The pictures are laid out here and drawn through the renderers of go-chart, which no other package
// imports. What go-chart lacks stands here: bands, error bars, clipping, calendar ticks, labels that keep out of each
// other's way, and an SVG backend that escapes its text.
//
// Coordinates are in picture units (1/96 inch) from the top left; a [Size] says how many pixels of a PNG make one of
// them.
//
// Three promises hold for every input, however odd. The output is whole or absent: an error writes nothing. A value
// that is not finite, or beyond ±1e12 in its unit, is left out and parts the line it stands in. Nothing is drawn
// outside the canvas.
package charts
