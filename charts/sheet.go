package charts

// Sheet puts several pictures on one, in rows from left to right: two in a row on a screen or on paper, one under the
// other on a phone. On paper it fills the page.
type Sheet struct {
	Title    string
	Note     string // some words under the title, such as the date and what the figures rest on
	Alt      string // what it shows, in words; made from the pictures where empty
	Pictures []Picture
}

// AltTitle implements Picture.
func (s Sheet) AltTitle() string { return s.Title }

// pictures gives those that are there.
func (s Sheet) pictures() []Picture {
	var ps []Picture
	for _, p := range s.Pictures {
		if p != nil {
			ps = append(ps, p)
		}
	}
	return ps
}

// columns gives how many stand side by side: one or two pictures always stand one under the other on paper and on a
// phone.
func (s Sheet) columns(size Size) int {
	n := len(s.pictures())
	if size.Paper && n <= 3 || n <= 1 {
		return 1
	}
	return min(size.Columns, n)
}

// gutter is the space between two pictures.
func gutter(size Size) float64 { return size.SheetText * 1.8 }

// cell gives the size of one picture on the sheet.
func (s Sheet) cell(size Size) Size {
	n := float64(s.columns(size))
	c := size
	c.WidthPx = (size.SheetPx - 2*size.MarginPx - (n-1)*gutter(size)) / n
	c.HeightPx, c.MarginPx, c.PagePx, c.TextPx = size.CellPx, 0, 0, size.SheetText
	c.SheetPx = c.WidthPx // for a sheet on a sheet
	return c
}

// noteLines is how many lines the note may take: it is said in whole sentences, which a phone breaks more often.
func noteLines(size Size) int {
	if size.Columns == 1 {
		return 4
	}
	return 2
}

// heads gives the height of title and note: of as many lines as they may take.
func (s Sheet) heads(size Size, bare bool) float64 {
	h := 0.0
	if s.Title != "" && !bare {
		h += size.SheetText * 1.5 * 2.2
	}
	if s.Note != "" {
		h += size.SheetText * 1.4 * float64(noteLines(size))
	}
	if h > 0 {
		h += size.SheetText * 0.8
	}
	return h
}

// rowHeights gives the height of each row of pictures.
func (s Sheet) rowHeights(size Size) []float64 {
	cell, n := s.cell(size), s.columns(size)
	var hs []float64
	for i, p := range s.pictures() {
		if i%n == 0 {
			hs = append(hs, 0)
		}
		_, h := p.extent(cell, false)
		hs[len(hs)-1] = max(hs[len(hs)-1], h)
	}
	return hs
}

func (s Sheet) extent(size Size, bare bool) (float64, float64) {
	h := 2*size.MarginPx + s.heads(size, bare)
	for _, r := range s.rowHeights(size) {
		h += r + gutter(size)
	}
	if len(s.pictures()) == 0 {
		h += size.CellPx
	}
	return size.SheetPx, max(h-gutter(size), size.PagePx)
}

func (s Sheet) draw(c *canvas, area box, bare bool) {
	c.text = c.size.SheetText
	area.y0 = s.drawHeads(c, area, bare)
	ps := s.pictures()
	if len(ps) == 0 {
		drawNothing(c, area, "")
		return
	}
	cell, n := s.cell(c.size), s.columns(c.size)
	heights := s.rowHeights(c.size)
	fill(heights, area.height()-float64(len(heights)-1)*gutter(c.size), cell.WidthPx)
	y := area.y0
	for i, p := range ps {
		row, col := i/n, i%n
		x := area.x0 + float64(col)*(cell.WidthPx+gutter(c.size))
		at := box{x, y, x + cell.WidthPx, y + heights[row]}
		on := *c
		on.bound, on.size = at, cell
		p.draw(&on, at, false)
		if col == n-1 {
			y = at.y1 + gutter(c.size)
		}
	}
}

// fill makes rows of pictures higher until they fill the room between them, but none higher than three quarters of
// its width.
func fill(heights []float64, room, width float64) {
	for range len(heights) {
		var open []int
		left := room
		for i, h := range heights {
			left -= h
			if h < width*0.75 {
				open = append(open, i)
			}
		}
		if left < 1 || len(open) == 0 {
			return
		}
		for _, i := range open {
			heights[i] = min(heights[i]+left/float64(len(open)), width*0.75)
		}
	}
}

// drawHeads writes title and note and gives the top of what is left.
func (s Sheet) drawHeads(c *canvas, area box, bare bool) float64 {
	size := c.text * 1.5
	if title := cleanText(s.Title); title != "" && !bare {
		for _, line := range wrapText(c.font, title, size, area.width(), 2) {
			area.y0 += size * 1.1
			c.write(line, pt{area.x0, area.y0 - descent*size}, size, c.col.ink, alignLeft, "title")
		}
	}
	if note := cleanText(s.Note); note != "" {
		for _, line := range wrapText(c.font, note, c.text, area.width(), noteLines(c.size)) {
			area.y0 += c.text * 1.4
			c.write(line, pt{area.x0, area.y0 - descent*c.text}, c.text, c.col.soft, alignLeft, "note")
		}
	}
	if s.heads(c.size, bare) > 0 {
		area.y0 += c.text * 0.8
	}
	return area.y0
}

// AltText implements Picture: the pictures' names and texts.
func (s Sheet) AltText() string {
	if alt := cleanAlt(s.Alt); alt != "" {
		return alt
	}
	parts := []string{cleanText(s.Note)}
	for _, p := range s.pictures() {
		title := cleanText(p.AltTitle())
		if title != "" {
			title += ": "
		}
		parts = append(parts, title+cleanAlt(p.AltText()))
	}
	return joinSentences(parts...)
}
