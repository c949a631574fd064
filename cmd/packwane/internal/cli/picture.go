package cli

import (
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"packwane/charts"
	"packwane/cmd/packwane/internal/pictures"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/units"
)

// pictureFormat is the format that the ending of a file's name asks for; "" for
// an ending that is none.
func pictureFormat(name string) string {
	format := strings.TrimPrefix(strings.ToLower(filepath.Ext(name)), ".")
	if slices.Contains(chartFormats, format) {
		return format
	}
	return ""
}

// checkPicture refuses, before anything is worked out, a file name that no picture
// can have. "" asks for no picture.
func checkPicture(name string) error {
	if name != "" && pictureFormat(name) == "" {
		return wrong("--chart %q: want a file name that ends in .svg or .png", name)
	}
	return nil
}

// picture writes a picture to a file that checkPicture has let pass, in the format
// of its ending.
func (a *app) picture(name string, p charts.Picture, o charts.Options) error {
	if name == "" {
		return nil
	}
	render := charts.WritePNG
	if pictureFormat(name) == "svg" {
		render = charts.WriteSVG
	}
	return a.writeOutput(name, func(w io.Writer) error { return render(w, p, o) })
}

// picturesOf gathers what the pictures of one pack are made of. Without a fitter
// the lives before its cells were replaced are left out.
func picturesOf(h *logbook.History, fit *model.Fit, months int, fitter report.Fitter, sys units.System, zone *time.Location) pictures.Of {
	return pictures.Of{
		Course: report.CourseOf(h, fit, months, fitter), Consumption: report.ConsumptionOf(h, fit), Losses: report.LossesOf(h, fit),
		System: sys, Zone: zone,
	}
}
