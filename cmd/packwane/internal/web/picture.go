package web

import (
	"bytes"
	"html/template"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
)

// pictureSize is made for a column of a desk's page and a phone's whole width.
func pictureSize() charts.Size {
	s := charts.Phone()
	s.Name, s.WidthPx, s.HeightPx, s.TextPx, s.MarginPx = "page", 420, 330, 14, 6
	return s
}

// draw makes a picture into a part of a page. Charts escapes all text in it;
// its colours are the light ones, which the style sheet turns where it must.
func draw(title string, p charts.Picture) (pictureBlock, error) {
	var b bytes.Buffer
	err := charts.WriteSVG(&b, p, charts.Options{Size: pictureSize(), Bare: true})
	return pictureBlock{Title: title, SVG: template.HTML(b.String())}, err
}

// picturesOf gathers what the pictures of a pack are made of.
func (v *visit) picturesOf(a *answers) pictures.Of {
	return pictures.Of{Course: a.course(), Consumption: a.consumption(), Losses: a.losses(), System: v.who.System, Zone: v.now.Location()}
}

// pictures draws the pictures of a pack.
func (v *visit) pictures(a *answers) ([]pictureBlock, error) {
	of := v.picturesOf(a)
	var out []pictureBlock
	for _, kind := range of.Kinds() {
		p, err := draw(pictures.Title(kind), of.Picture(kind))
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}
