package charts

import "github.com/wcharczuk/go-chart/v2/drawing"

// Theme says what a picture's colours are made for.
type Theme int

const (
	// Light is dark ink on white paper: the default, and the only theme for print.
	Light Theme = iota
	// Dark is light ink on a dark ground.
	Dark
)

// String gives the name used on a command line: light or dark.
func (t Theme) String() string {
	switch t {
	case Light:
		return "light"
	case Dark:
		return "dark"
	}
	return "unknown"
}

// Colours is how many series colours there are. A series with colour k is drawn in colour k modulo Colours, with a
// dash pattern and a marker shape of its own, so that it can be told from the others without seeing any colour.
const Colours = 6

// palette holds the colours of one theme. Text (ink, soft, warn) keeps 4.5:1 against the paper, lines and markers 3:1
// (WCAG 2.2, success criteria 1.4.3 and 1.4.11); the grid is decoration and keeps none. The series colours stay at
// least 25 CIELAB units apart to normal eyes and to the three kinds of colour-blind eyes. The package's tests check
// all of it.
type palette struct {
	paper, ink, soft, axis, grid drawing.Color
	warn                         drawing.Color
	series                       [Colours]drawing.Color
	bandAlpha, shadeAlpha        uint8
}

var palettes = map[Theme]*palette{
	Light: {
		paper: hex(0xffffff), ink: hex(0x1b2126), soft: hex(0x515c66), axis: hex(0x6b7680), grid: hex(0xe1e5e9),
		warn: hex(0xa5381b),
		series: [Colours]drawing.Color{
			hex(0x3347af), hex(0x8e2c0c), hex(0x009575), hex(0x64105f), hex(0xb17702), hex(0x403734),
		},
		bandAlpha: 0x2e, shadeAlpha: 0x26,
	},
	Dark: {
		paper: hex(0x12171c), ink: hex(0xe9edf1), soft: hex(0xa9b4be), axis: hex(0x84909b), grid: hex(0x2a323a),
		warn: hex(0xf0935c),
		series: [Colours]drawing.Color{
			hex(0x7294d3), hex(0xdc783e), hex(0x57f0b3), hex(0x925ef1), hex(0xf6ea6e), hex(0xcce7ff),
		},
		bandAlpha: 0x48, shadeAlpha: 0x3c,
	},
}

// hex makes an opaque colour of 0xRRGGBB.
func hex(rgb uint32) drawing.Color {
	return drawing.Color{R: uint8(rgb >> 16), G: uint8(rgb >> 8), B: uint8(rgb), A: 0xff}
}

// seriesColour gives the colour of series k, any whole number.
func (p *palette) seriesColour(k int) drawing.Color { return p.series[wrapIndex(k)] }

// dashes are the line patterns that go with the series colours, in picture units; the first is unbroken.
var dashes = [Colours][]float64{nil, {9, 3}, {2.5, 3}, {10, 3, 2.5, 3}, {5, 3}, {14, 3, 5, 3}}

// forecastDash marks a line that is a forecast, whatever its colour.
var forecastDash = []float64{6, 4}

// levelDash marks a level that the data are held against.
var levelDash = []float64{7, 3, 1.5, 3}

// wrapIndex brings any whole number into 0..Colours-1.
func wrapIndex(k int) int { return ((k % Colours) + Colours) % Colours }
