package web_test

import (
	"strings"
	"testing"
)

// TestBoardIsChosen: where a pack was ridden on two boards the pages ask on which, and
// answer as the command does; where on one alone they do not ask.
func TestBoardIsChosen(t *testing.T) {
	s := newSite(t, nil)
	s.fill(kite)
	s.get("/reach?pack=kite-a&rest=38").wants(t, 200).lacks(t, `name="board"`)
	s.command("board", "add", "wren", "mass=21kg")
	for _, day := range []string{"02", "03", "04"} {
		s.command("log", "ride", "kite-a", "board=wren", "at=2026-04-"+day+" 12:00", "distance=6km", "discharged=120Wh")
	}
	on := s.get("/reach?pack=kite-a&rest=38&board=wren").wants(t, 200, `name="board"`, `<option value="wren" selected>`, "on wren")
	usual := s.get("/reach?pack=kite-a&rest=38&board=nowhere").wants(t, 200, `<option value="wren">`, "on kite")
	if on.body == usual.body {
		t.Error("the board makes no difference")
	}
	tabs := s.command("reach", "kite-a", "--rest-v", "38", "--board", "wren")
	_, left, _ := strings.Cut(tabs, "distance left, on average\t")
	km, _, ok := strings.Cut(left, "\t")
	if !ok {
		t.Fatal(tabs)
	}
	on.wants(t, 200, "<b>"+km+"</b> km")
	s.get("/compare?pack=kite-a&pack=kite-a&board=wren").wants(t, 200)
	s.get("/tape?pack=kite-a&board=wren").wants(t, 200, "on wren")
}
