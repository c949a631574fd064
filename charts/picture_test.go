package charts

import (
	"bytes"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestGolden compares a few small pictures with what they were when a person last looked at them.
func TestGolden(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("other processors may round the last digit otherwise")
	}
	few := dayTrace()
	for i := range few.Panels {
		few.Panels[i].Through = few.Panels[i].Through[:40]
	}
	few.Segments = few.Segments[:1]
	for name, p := range map[string]Picture{
		"capacity": capacityFigure(8, 1), "empty": Figure{Title: "Capacity", Hint: "Log a full charge."},
		"waterfall": causes(), "bars": boards(false), "dots": boards(true), "trace": few,
	} {
		var buf bytes.Buffer
		if err := WriteSVG(&buf, p, Options{Size: Phone()}); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join("testdata", name+".svg")
		if *update {
			if err := os.WriteFile(file, buf.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(buf.Bytes(), want) {
			t.Errorf("%s differs from %s: look at it, then run the test with -update", name, file)
		}
	}
}

// TestGallery reads every kind of picture back at every size: valid XML, nothing outside, no two texts around a plot
// meeting, a name and a description.
func TestGallery(t *testing.T) {
	for name, p := range gallery() {
		for _, size := range []Size{Screen(), Phone(), Print()} {
			for _, bare := range []bool{false, true} {
				t.Run(fmt.Sprintf("%s/%s/%v", name, size.Name, bare), func(t *testing.T) {
					got := svgOf(t, p, Options{Size: size, Bare: bare})
					got.checkTexts(t)
					if got.title != cleanText(p.AltTitle()) {
						t.Errorf("title %q, want %q", got.title, cleanText(p.AltTitle()))
					}
					if got.desc == "" && name != "sheet-0" {
						t.Error("no description")
					}
				})
			}
		}
	}
}

// TestPNG checks size and resolution of the PNGs: 300 dots an inch are 11811 pixels a metre (the inch is 25.4 mm by
// definition), an A4 page is 210 mm by 297 mm (ISO 216).
func TestPNG(t *testing.T) {
	for _, c := range []struct {
		p             Picture
		size          Size
		width, height int
		perMetre      uint32
	}{
		{capacityFigure(9, 1), Screen(), 1920, 1080, 7559},
		{capacityFigure(9, 1), Phone(), 1200, 1440, 11339},
		{capacityFigure(9, 1), Print(), 2008, 1240, 11811},
		{wholeSheet(), Print(), 2480, 3508, 11811},
	} {
		var buf bytes.Buffer
		if err := WritePNG(&buf, c.p, Options{Size: c.size}); err != nil {
			t.Fatal(err)
		}
		im, err := png.Decode(bytes.NewReader(buf.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		if b := im.Bounds(); b.Dx() != c.width || b.Dy() != c.height {
			t.Errorf("%s: %d by %d, want %d by %d", c.size.Name, b.Dx(), b.Dy(), c.width, c.height)
		}
		i := bytes.Index(buf.Bytes(), []byte("pHYs"))
		if i < 0 || binary.BigEndian.Uint32(buf.Bytes()[i+4:]) != c.perMetre {
			t.Errorf("%s: no resolution of %d pixels a metre", c.size.Name, c.perMetre)
		}
	}
}

// TestTextHeightAgrees checks that both renderers draw text of one height: the capital H of a large title, measured
// in the PNG, is as high as the font says.
func TestTextHeightAgrees(t *testing.T) {
	size := Screen()
	size.TextPx, size.PixelRatio = 40, 1
	var buf bytes.Buffer
	if err := WritePNG(&buf, Figure{Title: "H"}, Options{Size: size}); err != nil {
		t.Fatal(err)
	}
	im, err := png.Decode(&buf)
	if err != nil {
		t.Fatal(err)
	}
	top, bottom := math.MaxInt, 0
	for y := range 70 {
		for x := 18; x < 60; x++ {
			if r, _, _, _ := im.At(x, y).RGBA(); r < 0x8000 {
				top, bottom = min(top, y), max(bottom, y)
			}
		}
	}
	// 1456 of 2048 font units: the cap height in the OS/2 table of the font.
	want := 48.0 * 1456 / 2048
	if got := float64(bottom - top + 1); math.Abs(got-want) > 1.5 {
		t.Errorf("H is %v high, want %.1f", got, want)
	}
}

type failing struct{ after int }

func (f *failing) Write(p []byte) (int, error) {
	if f.after -= len(p); f.after < 0 {
		return 0, errors.New("disk full")
	}
	return len(p), nil
}

// TestErrorsWriteNothing checks that options that cannot be met are refused before the first byte, and that an error
// of the writer comes back.
func TestErrorsWriteNothing(t *testing.T) {
	narrow, nan, many := Screen(), Screen(), Print()
	narrow.WidthPx = 3
	nan.TextPx = math.NaN()
	many.PixelRatio = 8
	for name, c := range map[string]struct {
		p    Picture
		o    Options
		want string
		svg  bool
	}{
		"no picture":    {nil, Options{}, "no picture", true},
		"dark paper":    {Figure{}, Options{Theme: Dark, Size: Print()}, "white paper", true},
		"theme":         {Figure{}, Options{Theme: 7}, "light or dark", true},
		"narrow":        {Figure{}, Options{Size: narrow}, "200 to 20000", true},
		"not a number":  {Figure{}, Options{Size: nan}, "text height", true},
		"too many dots": {Sheet{Pictures: []Picture{Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}, Figure{}}}, Options{Size: many}, "pixels", false},
	} {
		for kind, write := range map[string]func(*bytes.Buffer) error{
			"png": func(b *bytes.Buffer) error { return WritePNG(b, c.p, c.o) },
			"svg": func(b *bytes.Buffer) error { return WriteSVG(b, c.p, c.o) },
		} {
			var buf bytes.Buffer
			err := write(&buf)
			if kind == "svg" && !c.svg {
				continue
			}
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("%s, %s: error %v, want one line with %q", name, kind, err, c.want)
			}
			if buf.Len() > 0 {
				t.Errorf("%s, %s: %d bytes written beside an error", name, kind, buf.Len())
			}
		}
	}
	for _, write := range []func(*failing) error{
		func(w *failing) error { return WritePNG(w, Figure{}, Options{}) },
		func(w *failing) error { return WriteSVG(w, Figure{}, Options{}) },
	} {
		if err := write(&failing{after: 100}); err == nil || err.Error() != "disk full" {
			t.Errorf("error %v, want the writer's", err)
		}
	}
}

// TestConcurrent renders from several goroutines at once, the first use of the font among them, and expects the same
// bytes from all; for the race detector.
func TestConcurrent(t *testing.T) {
	p := causes()
	var wg sync.WaitGroup
	out := make([]bytes.Buffer, 8)
	for i := range out {
		wg.Add(1)
		go func() {
			defer wg.Done()
			var err error
			if i%2 == 0 {
				err = WriteSVG(&out[i], p, Options{})
			} else {
				err = WritePNG(&out[i], p, Options{})
			}
			if err != nil {
				t.Error(err)
			}
		}()
	}
	wg.Wait()
	for i := 2; i < len(out); i++ {
		if !bytes.Equal(out[i].Bytes(), out[i%2].Bytes()) {
			t.Errorf("picture %d differs from picture %d", i, i%2)
		}
	}
}

// TestLongLineInParts: a line that a bitmap takes in parts looks like one that
// it takes at once.
func TestLongLineInParts(t *testing.T) {
	f := Figure{X: Axis{Label: "time"}, Y: Axis{Label: "value"}, Lines: []Line{{trace: true}}}
	for k := range 390 {
		f.Lines[0].Through = append(f.Lines[0].Through, XY{X: float64(k), Y: math.Sin(float64(k)/3) + 0.3*math.Sin(float64(k))})
	}
	draw := func() []byte {
		var b bytes.Buffer
		if err := WritePNG(&b, f, Options{Size: Phone()}); err != nil {
			t.Fatal(err)
		}
		im, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		var grey []byte
		for y := range im.Bounds().Dy() {
			for x := range im.Bounds().Dx() {
				r, g, b, _ := im.At(x, y).RGBA()
				grey = append(grey, byte((r+g+b)/3>>8))
			}
		}
		return grey
	}
	parts := draw()
	defer func(n int) { mostStroked = n }(mostStroked)
	mostStroked = 1000
	off, sum := 0, 0
	for k, v := range draw() {
		if d := int(v) - int(parts[k]); d != 0 {
			off++
			sum += max(d, -d)
		}
	}
	// Only the soft edges of what is drawn twice may differ: some hundred pixels at each of two seams.
	if off > 2000 || sum > 40*2000 {
		t.Errorf("%d pixels differ, by %d in all", off, sum)
	}
}
