package web

import (
	"packwane/health/prose"
	"packwane/health/units"
)

var _ = addPage(page{pattern: "GET /settings", title: "Units and devices", menu: menuOther, about: "metric or imperial; pair another browser", serve: (*visit).settings})
var _ = addPage(page{pattern: "POST /settings", serve: (*visit).prefer})
var _ = addPage(page{pattern: "POST /pair/another", serve: (*visit).another})
var _ = addPage(page{pattern: "POST /pair/end", serve: (*visit).unpair})

// settingsView is what can be set.
type settingsView struct {
	Systems []choice
	Done    string
	Pairs   bool
}

var settingsDone = map[string]string{"units": "Kept.", "link": "The terminal in which packwane runs now shows a new link. It works once, for half an hour."}

func (v *visit) settings() (reply, error) {
	if err := v.read(nil); err != nil {
		return nil, err
	}
	data := settingsView{Done: settingsDone[v.FormValue("done")], Pairs: v.s.Pair}
	for _, s := range []units.System{units.Metric, units.Imperial} {
		text := s.String() + ": " + prose.List([]string{units.Symbol(units.Km, s), units.Symbol(units.Kpa, s), units.Symbol(units.Kg, s), units.Symbol(units.Celsius, s)}, "and")
		data.Systems = append(data.Systems, choice{Value: s.String(), Text: text, Here: s == v.who.System})
	}
	return view{title: "Units and devices", tab: "/more", layout: "settings", data: data}, nil
}

func (v *visit) prefer() (reply, error) {
	if err := v.form(); err != nil {
		return nil, err
	}
	sys, err := units.ParseSystem(v.PostFormValue("units"))
	if err != nil {
		return nil, wrong("Want metric or imperial.")
	}
	if err := v.s.Desk.Prefer(sys); err != nil {
		return nil, err
	}
	return redirect("/settings?done=units"), nil
}
