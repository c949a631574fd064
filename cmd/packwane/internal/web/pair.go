package web

import (
	"net/http"
)

var _ = addPage(page{pattern: "GET " + pairPath + "{token}", serve: (*visit).pairForm})
var _ = addPage(page{pattern: "POST " + pairPost, serve: (*visit).pairNow})

// pairForm asks before the link is spent: what looks at links on its own, such
// as a messenger's preview, follows them but presses no button.
func (v *visit) pairForm() (reply, error) {
	if !v.s.Pair {
		return redirect("/"), nil
	}
	return view{title: "Pair this browser", layout: "pair", data: v.PathValue("token"), bare: true}, nil
}

func (v *visit) pairNow() (reply, error) {
	if err := v.form(); err != nil {
		return nil, err
	}
	text := v.s.sessions.pair(v.PostFormValue("token"))
	if text == "" {
		return nil, problemLink
	}
	return withCookie{v.s.cookie(text), redirect("/")}, nil
}

// withCookie is a reply that sets a cookie.
type withCookie struct {
	cookie *http.Cookie
	reply
}

func (c withCookie) send(v *visit, w http.ResponseWriter) {
	http.SetCookie(w, c.cookie)
	c.reply.send(v, w)
}

// another shows a new link in the terminal, for the next browser.
func (v *visit) another() (reply, error) {
	if v.s.Pair {
		v.s.Link(pairPath + v.s.sessions.newLink())
	}
	return redirect("/settings?done=link"), nil
}

// unpair ends the session of this browser.
func (v *visit) unpair() (reply, error) {
	v.s.sessions.end(v.Request)
	gone := v.s.cookie("")
	gone.MaxAge = -1
	return withCookie{gone, redirect("/")}, nil
}
