package web

import "strings"

var _ = addPage(page{pattern: "GET /more", title: "More", serve: (*visit).more})

// more lists every page that stands in the menu.
func (v *visit) more() (reply, error) {
	var data []menuPart
	for _, title := range []string{menuAnswers, menuLog, menuOther} {
		part := menuPart{Title: title}
		for _, p := range pages {
			if p.menu == title {
				part.Items = append(part.Items, menuItem{pathOf(p), p.title, p.about})
			}
		}
		if len(part.Items) > 0 {
			data = append(data, part)
		}
	}
	return view{title: "More", tab: "/more", layout: "menu", data: data}, nil
}

// pathOf is the address of a page.
func pathOf(p page) string {
	_, path, _ := strings.Cut(p.pattern, " ")
	return path
}
