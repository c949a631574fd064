package charts

import (
	"fmt"
	"math"
)

// Size says how large a picture is and how large its text. Lengths are picture units (px, 1/96 inch). Change a
// preset's fields for a size of your own.
type Size struct {
	Name       string
	WidthPx    float64 // of a picture on its own
	HeightPx   float64 // of a picture on its own; a picture with many rows grows taller
	TextPx     float64 // height of ordinary text in a picture on its own; titles are larger
	SheetText  float64 // height of ordinary text on a sheet
	PixelRatio float64 // PNG pixels for one unit
	Columns    int     // of a sheet with more than two pictures
	SheetPx    float64 // width of a sheet
	CellPx     float64 // height of one picture on a sheet; rows may grow taller
	PagePx     float64 // height that a sheet fills, if its pictures allow; 0: as high as they need
	MarginPx   float64 // white border all round
	Paper      bool    // for print: light theme only, SVG lengths in millimetres
}

// Screen is a wide picture for a desktop page: a PNG of 1920 by 1080 pixels.
func Screen() Size {
	return Size{Name: "screen", WidthPx: 960, HeightPx: 540, TextPx: 14, SheetText: 14, PixelRatio: 2,
		Columns: 2, SheetPx: 1360, CellPx: 420, MarginPx: 18}
}

// Phone is a narrow picture with larger text, read at arm's length outdoors: a PNG of 1200 by 1440 pixels.
func Phone() Size {
	return Size{Name: "phone", WidthPx: 400, HeightPx: 480, TextPx: 15, SheetText: 15, PixelRatio: 3,
		Columns: 1, SheetPx: 400, CellPx: 430, MarginPx: 12}
}

// Print is for paper at 300 dots an inch: a picture 170 mm wide, a sheet that fills an A4 page (ISO 216: 210 mm by
// 297 mm).
func Print() Size {
	return Size{Name: "print", WidthPx: mmPx(170), HeightPx: mmPx(105), TextPx: 12, SheetText: 10, PixelRatio: 300.0 / 96,
		Columns: 2, SheetPx: mmPx(210), CellPx: 210, PagePx: mmPx(297), MarginPx: mmPx(10), Paper: true}
}

// mmPx turns millimetres into picture units; 25.4 mm make an inch by definition.
func mmPx(mm float64) float64 { return mm / 25.4 * 96 }

// The least and the most that a picture may measure, in units and in PNG pixels: below, the labels do not fit; above,
// the memory does not.
const (
	minSidePx   = 200
	maxSidePx   = 20000
	maxPixels   = 60e6
	minTextPx   = 7
	maxTextPx   = 48
	maxPxRatio  = 8
	maxSheetCol = 6
)

// check refuses a size that no picture can be drawn in.
func (s Size) check() error {
	for _, side := range []struct {
		name     string
		v        float64
		low, top float64
	}{
		{"width", s.WidthPx, minSidePx, maxSidePx},
		{"height", s.HeightPx, minSidePx, maxSidePx},
		{"sheet width", s.SheetPx, minSidePx, maxSidePx},
		{"cell height", s.CellPx, minSidePx, maxSidePx},
		{"page height", s.PagePx, 0, maxSidePx},
		{"text height", s.TextPx, minTextPx, maxTextPx},
		{"text height on a sheet", s.SheetText, minTextPx, maxTextPx},
		{"pixel ratio", s.PixelRatio, 0.25, maxPxRatio},
		{"margin", s.MarginPx, 0, s.WidthPx / 8},
		{"columns", float64(s.Columns), 1, maxSheetCol},
	} {
		if math.IsNaN(side.v) || side.v < side.low || side.v > side.top {
			return fmt.Errorf("charts: %s of %g: give %g to %g", side.name, side.v, side.low, side.top)
		}
	}
	return nil
}
