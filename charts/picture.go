package charts

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math"

	chart "github.com/wcharczuk/go-chart/v2"
)

// Picture is something that this package can draw: a [Figure], a [Waterfall], [Bars], a [Trace] or a [Sheet].
type Picture interface {
	// AltTitle is the picture's name for a reader who cannot see it.
	AltTitle() string
	// AltText says in words what the picture shows. It is the description in an SVG and may serve as the alternative
	// text of a PNG.
	AltText() string

	draw(c *canvas, area box, bare bool)
	// extent gives the width and the height that the picture wants at a size, margins included.
	extent(s Size, bare bool) (width, height float64)
}

// Options say how a picture is rendered. The zero value is light, for the screen.
type Options struct {
	Theme Theme
	Size  Size // the zero value is Screen()
	Bare  bool // leave the title out: the page around has it as a heading
}

// ErrPaper is returned for a dark picture on paper.
var ErrPaper = errors.New("charts: print is for white paper: use the light theme")

// WriteSVG renders p as a stand-alone SVG that may also stand in an HTML page, once or several times. Its errors are
// those of options that cannot be met and of w itself; before w is written to the picture is whole.
func WriteSVG(w io.Writer, p Picture, o Options) error {
	job, err := newJob(p, o)
	if err != nil {
		return err
	}
	r := newSVG(svgHead{width: job.width, height: job.height, paper: job.size.Paper,
		title: cleanText(p.AltTitle()), desc: cleanAlt(p.AltText())})
	return job.render(w, r, svgUnits, nil)
}

// WritePNG renders p as a PNG that states its resolution. Its errors are those of [WriteSVG].
func WritePNG(w io.Writer, p Picture, o Options) error {
	job, err := newJob(p, o)
	if err != nil {
		return err
	}
	k := job.size.PixelRatio
	wide, high := math.Round(job.width*k), math.Round(job.height*k)
	if wide*high > maxPixels {
		return fmt.Errorf("charts: a PNG of %.0f by %.0f pixels: at most %.0f million fit; use SVG, or fewer pictures", wide, high, maxPixels/1e6)
	}
	r, err := chart.PNG(int(wide), int(high))
	if err != nil {
		return err
	}
	r.SetDPI(64) // go-chart's raster text is sized in 1/64 of size times DPI: with 64 a font size is a height in pixels
	return job.render(w, roundRaster{r}, k, func(png []byte) []byte { return withResolution(png, 96*k) })
}

// job is one picture at one size in one theme.
type job struct {
	p             Picture
	size          Size
	col           *palette
	bare          bool
	width, height float64
}

func newJob(p Picture, o Options) (job, error) {
	if p == nil {
		return job{}, errors.New("charts: no picture: give a figure, a waterfall, bars, a trace or a sheet")
	}
	if o.Size == (Size{}) {
		o.Size = Screen()
	}
	col, ok := palettes[o.Theme]
	if !ok {
		return job{}, fmt.Errorf("charts: theme %d: give light or dark", o.Theme)
	}
	if err := o.Size.check(); err != nil {
		return job{}, err
	}
	if o.Size.Paper && o.Theme != Light {
		return job{}, ErrPaper
	}
	w, h := p.extent(o.Size, o.Bare)
	whole := func(v float64) float64 { return math.Floor(v*svgUnits) / svgUnits }
	return job{p: p, size: o.Size, col: col, bare: o.Bare, width: whole(w), height: whole(h)}, nil
}

// render draws on r, k device steps to the unit, and copies the whole result, passed through finish if there is one,
// to w.
func (j job) render(w io.Writer, r chart.Renderer, k float64, finish func([]byte) []byte) error {
	f, err := font()
	if err != nil {
		return fmt.Errorf("charts: the font: %w", err)
	}
	all := box{0, 0, j.width, j.height}
	c := &canvas{r: r, k: k, bound: all, size: j.size, col: j.col, font: f, text: j.size.TextPx}
	c.rect(all, j.col.paper)
	j.p.draw(c, all.inset(j.size.MarginPx), j.bare)
	var buf bytes.Buffer
	if err := r.Save(&buf); err != nil {
		return err
	}
	out := buf.Bytes()
	if finish != nil {
		out = finish(out)
	}
	_, err = w.Write(out)
	return err
}

// withResolution puts a pHYs chunk (PNG specification, section 11.3.5.3: pixels per metre) behind the header, so that
// the picture prints at its true size.
func withResolution(png []byte, dpi float64) []byte {
	const headerEnd = 8 + 25 // signature, IHDR chunk
	if len(png) < headerEnd {
		return png
	}
	perMetre := uint32(math.Round(dpi / 0.0254))
	chunk := make([]byte, 0, 21)
	chunk = binary.BigEndian.AppendUint32(chunk, 9)
	chunk = append(chunk, "pHYs"...)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	out := make([]byte, 0, len(png)+len(chunk))
	out = append(out, png[:headerEnd]...)
	out = append(out, chunk...)
	return append(out, png[headerEnd:]...)
}
