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

// pictureTitles are the headings of the kinds of pictures.
var pictureTitles = map[string]string{
	pictures.Range: "Range", pictures.Capacity: "Capacity", pictures.Resistance: "Resistance", pictures.Consumption: "Consumption over temperature",
	pictures.RoundTrip: "Round trip", pictures.Standby: "Lost at rest",
}

// pictures draws the pictures of a pack; a pack without a road has no range.
func (v *visit) pictures(a *answers) ([]pictureBlock, error) {
	kinds := []string{pictures.Range, pictures.Capacity, pictures.Resistance, pictures.Consumption, pictures.RoundTrip, pictures.Standby}
	if a.course().Bench {
		kinds = []string{pictures.Capacity, pictures.Resistance, pictures.RoundTrip, pictures.Standby}
	}
	of := pictures.Of{Course: a.course(), Consumption: a.consumption(), Losses: a.losses(), System: v.who.System, Zone: v.now.Location()}
	var out []pictureBlock
	for _, kind := range kinds {
		p, err := draw(pictureTitles[kind], of.Picture(kind))
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}
