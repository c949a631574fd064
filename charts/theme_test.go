package charts

import (
	"fmt"
	"math"
	"testing"

	"github.com/wcharczuk/go-chart/v2/drawing"
)

// linear gives the linear light of an sRGB colour (IEC 61966-2-1, as WCAG 2.2 defines relative luminance).
func linear(c drawing.Color) [3]float64 {
	var out [3]float64
	for i, v := range []uint8{c.R, c.G, c.B} {
		s := float64(v) / 255
		if s <= 0.04045 {
			out[i] = s / 12.92
		} else {
			out[i] = math.Pow((s+0.055)/1.055, 2.4)
		}
	}
	return out
}

// luminance and contrast are WCAG 2.2's relative luminance and contrast ratio.
func luminance(c drawing.Color) float64 {
	l := linear(c)
	return 0.2126*l[0] + 0.7152*l[1] + 0.0722*l[2]
}

func contrast(a, b drawing.Color) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// TestContrastFormula pins the formula to values published with it: black on white is 21:1, and #767676 on white is
// the lightest grey with 4.5:1 (4.54).
func TestContrastFormula(t *testing.T) {
	for _, c := range []struct {
		rgb  uint32
		want float64
	}{{0x000000, 21}, {0x767676, 4.54}, {0x949494, 3.03}} {
		if got := contrast(hex(c.rgb), hex(0xffffff)); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%06x on white: %.3f, want %.2f", c.rgb, got, c.want)
		}
	}
}

// over gives the colour that c, let through by its opacity, makes on the ground.
func over(c, ground drawing.Color) drawing.Color {
	mix := func(a, b uint8) uint8 {
		return uint8(math.Round(float64(a)*float64(c.A)/255 + float64(b)*(1-float64(c.A)/255)))
	}
	return drawing.Color{R: mix(c.R, ground.R), G: mix(c.G, ground.G), B: mix(c.B, ground.B), A: 0xff}
}

// TestContrast holds the themes to WCAG 2.2: text 4.5:1 (1.4.3), lines and markers 3:1 (1.4.11), also on the tint of
// a segment where text stands on one.
func TestContrast(t *testing.T) {
	for theme, p := range palettes {
		for name, c := range map[string]drawing.Color{"ink": p.ink, "soft": p.soft, "warn": p.warn} {
			if r := contrast(c, p.paper); r < 4.5 {
				t.Errorf("%v: %s has %.2f:1 against the paper", theme, name, r)
			}
		}
		for _, k := range []SegmentKind{Rest, Charge, Ride} {
			ground := over(faded(p.seriesColour(k.colour()), p.shadeAlpha), p.paper)
			if r := contrast(p.ink, ground); r < 4.5 {
				t.Errorf("%v: ink has %.2f:1 on the tint of a %v", theme, r, k)
			}
		}
		lines := map[string]drawing.Color{"axis": p.axis}
		for i, c := range p.series {
			lines[fmt.Sprintf("series %d", i)] = c
		}
		for i, c := range p.series {
			if r := contrast(c, over(faded(c, p.bandAlpha), p.paper)); r < 3 {
				t.Errorf("%v: series %d has %.2f:1 against its own band", theme, i, r)
			}
		}
		for name, c := range lines {
			if r := contrast(c, p.paper); r < 3 {
				t.Errorf("%v: %s has %.2f:1 against the paper", theme, name, r)
			}
		}
	}
}

// Matrices for full protanopia, deuteranopia and tritanopia on linear RGB: Machado, Oliveira and Fernandes, "A
// physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15 (2009), table for severity
// 1.0.
var eyes = map[string][3][3]float64{
	"normal":       {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanopia":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// lab gives the CIE 1976 L*a*b* of a colour (D65) as such eyes see it.
func lab(c drawing.Color, eye [3][3]float64) [3]float64 {
	l := linear(c)
	var v [3]float64
	for i := range v {
		v[i] = min(max(eye[i][0]*l[0]+eye[i][1]*l[1]+eye[i][2]*l[2], 0), 1)
	}
	x := (0.4124*v[0] + 0.3576*v[1] + 0.1805*v[2]) / 0.95047
	y := 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2]
	z := (0.0193*v[0] + 0.1192*v[1] + 0.9505*v[2]) / 1.08883
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	return [3]float64{116*f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))}
}

// TestColourBlind checks that any two series colours stay 25 CIELAB units apart (2.3 is a just noticeable difference)
// to all of these eyes.
func TestColourBlind(t *testing.T) {
	for theme, p := range palettes {
		for name, eye := range eyes {
			for i, a := range p.series {
				for j, b := range p.series[:i] {
					la, lb := lab(a, eye), lab(b, eye)
					if d := math.Hypot(math.Hypot(la[0]-lb[0], la[1]-lb[1]), la[2]-lb[2]); d < 25 {
						t.Errorf("%v, %s: series %d and %d are %.1f apart", theme, name, i, j, d)
					}
				}
			}
		}
	}
}

// TestColourNeverAlone checks that no two series share a dash pattern or a marker.
func TestColourNeverAlone(t *testing.T) {
	seen := map[string]int{}
	for i := range Colours {
		key := fmt.Sprint(lineDash(Line{Colour: i}))
		if j, ok := seen[key]; ok {
			t.Errorf("series %d and %d have dash pattern %s", i, j, key)
		}
		seen[key] = i
	}
	if shape(Colours-1) >= cross {
		t.Errorf("the last series' marker is the one for doubted points")
	}
}
