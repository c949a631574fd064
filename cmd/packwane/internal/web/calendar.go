package web

import (
	"bytes"
	"crypto/rand"
	"crypto/subtle"
	"strings"

	"packwane/health/report"
	"packwane/store"
)

const (
	feedPath    = "/feed/"
	settingFeed = "web_feed"
)

var _ = addPage(page{pattern: "GET " + feedPath + "{name}", serve: (*visit).feed})
var _ = addPage(page{pattern: "POST /feed", serve: (*visit).newFeed})

// A calendar program has no session, so the address of the feed is a secret of
// its own, which the store keeps. Whoever has it reads the reminders and
// nothing else; a new one makes the old one void.

// feedKey reads the secret; "" where none was made yet.
func (v *visit) feedKey() (string, error) {
	key := ""
	err := v.read(func(s *store.Store) (err error) {
		key, _, err = s.Setting(settingFeed)
		return err
	})
	return key, err
}

// feedAddress is where the calendar is to be had; "" where it has no address
// yet.
func (v *visit) feedAddress() (string, error) {
	key, err := v.feedKey()
	if key == "" || err != nil {
		return "", err
	}
	scheme := "http://"
	if v.s.TLS != nil {
		scheme = "https://"
	}
	return scheme + v.Host + feedPath + key + ".ics", nil
}

func (v *visit) newFeed() (reply, error) {
	err := v.s.Desk.Change(func(s *store.Store) error { return s.PutSetting(settingFeed, rand.Text()) })
	if err != nil {
		return nil, err
	}
	return redirect("/due#calendar"), nil
}

func (v *visit) feed() (reply, error) {
	key, err := v.feedKey()
	if err != nil {
		return nil, err
	}
	name, ok := strings.CutSuffix(v.PathValue("name"), ".ics")
	if !ok || key == "" || subtle.ConstantTimeCompare([]byte(name), []byte(key)) != 1 {
		return nil, problemNowhere
	}
	_, all, err := v.everyPack(func(a *answers) []func() { return []func(){asked(a.due)} })
	if err != nil {
		return nil, err
	}
	var due [][]report.Reminder
	for _, a := range all {
		due = append(due, a.due())
	}
	var b bytes.Buffer
	if err := v.s.Desk.Calendar(&b, report.JoinReminders(due), v.now, v.who.System); err != nil {
		return nil, err
	}
	return file{kind: "text/calendar; charset=utf-8", body: b.Bytes(), name: "packwane.ics"}, nil
}
