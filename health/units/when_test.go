package units

import (
	"errors"
	"testing"
	"time"
	_ "time/tzdata" // the rules of the named zones, whatever the machine has
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// 6 May 2026 is a Wednesday (the calendar).
func TestParseTime(t *testing.T) {
	berlin := zone(t, "Europe/Berlin")
	now := time.Date(2026, 5, 6, 14, 20, 30, 500, berlin)
	for _, c := range []struct{ text, want string }{
		{"2026-05-03T18:30:00+02:00", "2026-05-03T18:30:00+02:00"},
		{"2026-05-03t18:30:00z", "2026-05-03T18:30:00Z"},
		{"2026-05-03T18:30:15.25Z", "2026-05-03T18:30:15.25Z"},
		{"2026-05-03T18:30-05:30", "2026-05-03T18:30:00-05:30"},
		{"2026-05-03T18:30", "2026-05-03T18:30:00+02:00"},
		{"2026-05-03 18:30", "2026-05-03T18:30:00+02:00"},
		{"2026-05-03 18:30:05", "2026-05-03T18:30:05+02:00"},
		{"2026-01-03 18:30", "2026-01-03T18:30:00+01:00"},
		{"2026-05-03 18:30 UTC", "2026-05-03T18:30:00Z"},
		{"2026/05/03 6:30 pm", "2026-05-03T18:30:00+02:00"},
		{"2026-05-03", "2026-05-03T12:00:00+02:00"},
		{"03 May 18:30", "2026-05-03T18:30:00+02:00"},
		{"3 may, 18:30", "2026-05-03T18:30:00+02:00"},
		{"May 3rd at 6:30pm", "2026-05-03T18:30:00+02:00"},
		{"18:30 3 May", "2026-05-03T18:30:00+02:00"},
		{"Sunday 3 May 18:30", "2026-05-03T18:30:00+02:00"},
		{"sun, 3. May 2026, 18:30", "2026-05-03T18:30:00+02:00"},
		{"May 3 2024 18:30", "2024-05-03T18:30:00+02:00"},
		{"12 Nov 9:00", "2025-11-12T09:00:00+01:00"}, // six days nearer than 2026's
		{"31 Oct 9:00", "2026-10-31T09:00:00+01:00"}, // ahead: the caller refuses
		{"29 Feb 2024 9:00", "2024-02-29T09:00:00+01:00"},
		{"18:30", "2026-05-06T18:30:00+02:00"}, // ahead
		{"6 pm", "2026-05-06T18:00:00+02:00"},
		{"12am", "2026-05-06T00:00:00+02:00"},
		{"12 PM", "2026-05-06T12:00:00+02:00"},
		{"today 8:05", "2026-05-06T08:05:00+02:00"},
		{"today", "2026-05-06T12:00:00+02:00"},
		{"yesterday 18:30", "2026-05-05T18:30:00+02:00"},
		{"18:30 yesterday", "2026-05-05T18:30:00+02:00"},
		{"Yesterday", "2026-05-05T12:00:00+02:00"},
		{"tomorrow 7:00", "2026-05-07T07:00:00+02:00"},
		{"sunday 9:00", "2026-05-03T09:00:00+02:00"},
		{"sun 9:00", "2026-05-03T09:00:00+02:00"},
		{"Wednesday 9:00", "2026-05-06T09:00:00+02:00"},
		{"wed 15:00", "2026-04-29T15:00:00+02:00"},
		{"thurs", "2026-04-30T12:00:00+02:00"},
		{"wed", "2026-05-06T12:00:00+02:00"},
		{"now", "2026-05-06T14:20:30+02:00"},
		{"2 h ago", "2026-05-06T12:20:30+02:00"},
		{"1h30m ago", "2026-05-06T12:50:30+02:00"},
		{"20 min ago", "2026-05-06T14:00:30+02:00"},
		{"1,5 h ago", "2026-05-06T12:50:30+02:00"},
		{"in 30 min", "2026-05-06T14:50:30+02:00"},
		{"3 days ago 18:30", "2026-05-03T18:30:00+02:00"},
		{"3d ago", "2026-05-03T12:00:00+02:00"},
		{"a week ago 18:30", "2026-04-29T18:30:00+02:00"},
		{"in 2 weeks", "2026-05-20T12:00:00+02:00"},
		{"in 4months", "2026-09-06T12:00:00+02:00"},
		{"in 4 months", "2026-09-06T12:00:00+02:00"},
		{"a month ago", "2026-04-06T12:00:00+02:00"},
		{"60 days ago 18:30", "2026-03-07T18:30:00+01:00"}, // across the change of the clocks
		{"yesterday 18:30 +05:45", "2026-05-05T18:30:00+05:45"},
	} {
		got, err := ParseTime(c.text, now)
		if err != nil || got.Format(time.RFC3339Nano) != c.want {
			t.Errorf("%q: %s, %v; want %s", c.text, got.Format(time.RFC3339Nano), err, c.want)
		}
	}
}

func TestParseTimeNoonToCome(t *testing.T) {
	now := time.Date(2026, 5, 6, 9, 15, 30, 7, time.UTC)
	for _, text := range []string{"today", "wed", "2026-05-06", "6 May"} {
		got, err := ParseTime(text, now)
		if err != nil || !got.Equal(now.Truncate(time.Second)) {
			t.Errorf("%q: %v, %v; want now to the second", text, got, err)
		}
	}
}

func TestParseTimeAroundTheYear(t *testing.T) {
	for _, c := range []struct {
		now        time.Time
		text, want string
	}{
		{time.Date(2026, 1, 2, 10, 0, 0, 0, time.UTC), "30 Dec 18:30", "2025-12-30T18:30:00Z"},
		{time.Date(2026, 12, 31, 10, 0, 0, 0, time.UTC), "1 Jan 18:30", "2027-01-01T18:30:00Z"},
		{time.Date(2025, 1, 2, 10, 0, 0, 0, time.UTC), "29 Feb 9:00", "2024-02-29T09:00:00Z"},
		{time.Date(2028, 3, 1, 0, 5, 0, 0, time.UTC), "yesterday 23:00", "2028-02-29T23:00:00Z"}, // a leap year
		{time.Date(2026, 1, 1, 0, 5, 0, 0, time.UTC), "yesterday 23:00", "2025-12-31T23:00:00Z"},
	} {
		got, err := ParseTime(c.text, c.now)
		if err != nil || got.Format(time.RFC3339) != c.want {
			t.Errorf("%q at %v: %v, %v; want %s", c.text, c.now, got, err, c.want)
		}
	}
}

// Gaps and folds by RFC 5545, 3.3.5. The clock changes are those of the IANA
// time zone database: Berlin 29 March and 25 October 2026 at 01:00 UTC, Lord
// Howe by half an hour on 5 April 2026, Apia without a 30 December 2011.
func TestParseTimeClockChanges(t *testing.T) {
	for _, c := range []struct{ zone, text, want string }{
		{"Europe/Berlin", "2026-03-29 01:59", "2026-03-29T01:59:00+01:00"},
		{"Europe/Berlin", "2026-03-29 02:30", "2026-03-29T03:30:00+02:00"}, // skipped
		{"Europe/Berlin", "2026-03-29 03:00", "2026-03-29T03:00:00+02:00"},
		{"Europe/Berlin", "2026-10-25 02:30", "2026-10-25T02:30:00+02:00"}, // the first of two
		{"Europe/Berlin", "2026-10-25 02:30 +01:00", "2026-10-25T02:30:00+01:00"},
		{"Europe/Berlin", "2026-10-25 03:00", "2026-10-25T03:00:00+01:00"},
		{"Europe/Berlin", "2026-10-25 01:59", "2026-10-25T01:59:00+02:00"},
		{"America/New_York", "2026-03-08 02:30", "2026-03-08T03:30:00-04:00"}, // the RFC's own zone: EST until the gap
		{"America/New_York", "2026-11-01 01:30", "2026-11-01T01:30:00-04:00"}, // and EDT first
		{"Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-05T01:45:00+11:00"},
		{"Pacific/Apia", "2011-12-30 10:00", "2011-12-31T10:00:00+14:00"},
		{"America/Sao_Paulo", "2018-11-04 00:00", "2018-11-04T01:00:00-02:00"}, // a midnight that was skipped
	} {
		z := zone(t, c.zone)
		got, err := ParseTime(c.text, time.Date(2026, 11, 20, 12, 0, 0, 0, z))
		if err != nil || got.Format(time.RFC3339) != c.want {
			t.Errorf("%s %q: %s, %v; want %s", c.zone, c.text, got.Format(time.RFC3339), err, c.want)
		}
	}
}

func TestParseTimeRefuses(t *testing.T) {
	now := time.Date(2026, 5, 6, 14, 20, 30, 0, time.UTC)
	const numbers = "want a date as 2026-05-03 or 3 May, since some read day and month, some month and day; a time of day as 18:30"
	for text, want := range map[string]string{
		"":                     wantTime,
		"at":                   wantTime,
		"soon":                 wantTime,
		"25:00":                wantTime,
		"24:00":                wantTime,
		"18:60":                wantTime,
		"18:30:60":             wantTime,
		"1830":                 wantTime,
		"13 pm":                wantTime,
		"0 am":                 wantTime,
		"18:30 19:30":          wantTime,
		"31 June 9:00":         wantTime,
		"29 Feb 9:00":          wantTime,
		"2026-02-29 9:00":      wantTime,
		"2026-13-01":           wantTime,
		"1969-12-31 10:00":     wantTime,
		"2201-01-01 10:00":     wantTime,
		"3 ago":                wantTime,
		"2 fortnights ago":     wantTime,
		"-2 h ago":             wantTime,
		"99999 h ago":          wantTime,
		"50000 days ago":       wantTime,
		"sunday yesterday":     wantTime,
		"3 May 26":             wantTime,
		"ma 3 9:00":            wantTime,
		"18:30 +25:00":         wantTime,
		"+02:00":               wantTime,
		"18:30\x00":            wantTime,
		"\xff":                 wantTime,
		"3/5/2026 18:30":       numbers,
		"03.05.2026":           numbers,
		"23/5/2026":            numbers,
		"3-5-26":               numbers,
		"3/5":                  numbers,
		"18.30":                numbers,
		"2026-5-3":             numbers,
		"monday 3 May 2026":    "want a weekday and a date that agree",
		"monday 3 May 9:00":    "", // nearest year whose 3 May is a Monday: 2027
		"tuesday 3 May 9:00":   "want a weekday and a date that agree",
		"2026-05-03T18:30:00X": wantTime,
	} {
		got, err := ParseTime(text, now)
		if want == "" {
			if err != nil || got.Year() != 2027 {
				t.Errorf("%q: %v, %v", text, got, err)
			}
			continue
		}
		var e *ParseError
		if !errors.As(err, &e) || e.Want != want {
			t.Errorf("%q: %v, %v; want %q", text, got, err, want)
		}
	}
}

func TestParseDate(t *testing.T) {
	for _, name := range []string{"UTC", "Pacific/Apia", "America/Los_Angeles"} {
		now := time.Date(2026, 5, 6, 23, 20, 30, 0, zone(t, name))
		for text, want := range map[string]string{
			"2026-05-03":    "2026-05-03",
			"2026/05/03":    "2026-05-03",
			"2011-12-30":    "2011-12-30", // a day that Apia did not have
			"3 May":         "2026-05-03",
			"May 3, 2024":   "2024-05-03",
			"today":         "2026-05-06",
			"yesterday":     "2026-05-05",
			"sunday":        "2026-05-03",
			"wednesday":     "2026-05-06",
			"2 weeks ago":   "2026-04-22",
			"in 10 days":    "2026-05-16",
			"29 feb 2024":   "2024-02-29",
			"sun 3 May":     "2026-05-03",
			"3rd May, 2026": "2026-05-03",
		} {
			got, err := ParseDate(text, now)
			if err != nil || got.Format(time.RFC3339) != want+"T00:00:00Z" {
				t.Errorf("%s %q: %v, %v; want %s", name, text, got, err, want)
			}
		}
		for _, text := range []string{"", "now", "18:30", "today 18:30", "2 h ago", "2026-02-30", "2026-05", "3/5/2026", "0000-01-01"} {
			got, err := ParseDate(text, now)
			var e *ParseError
			if !errors.As(err, &e) || e.Want == wantTime {
				t.Errorf("%q: %v, %v; want a *ParseError about dates", text, got, err)
			}
		}
	}
}

func TestFormatTime(t *testing.T) {
	berlin := zone(t, "Europe/Berlin")
	now := time.Date(2026, 5, 6, 14, 20, 30, 0, berlin)
	autumn := time.Date(2026, 10, 25, 18, 0, 0, 0, berlin)
	for _, c := range []struct {
		at   string
		now  time.Time
		want string
	}{
		{"2026-05-06T16:30:59Z", now, "today 18:30"},
		{"2026-05-05T08:05:00+02:00", now, "yesterday 08:05"},
		{"2026-05-07T08:05:00+02:00", now, "tomorrow 08:05"},
		{"2026-05-03T18:30:00+02:00", now, "3 May 18:30"},
		{"2025-11-20T18:30:00+01:00", now, "20 Nov 18:30"},
		{"2026-11-20T18:30:00+01:00", now, "20 Nov 2026 18:30"}, // last year's is nearer
		{"2024-05-03T18:30:00+02:00", now, "3 May 2024 18:30"},
		{"2026-10-25T02:30:00+02:00", autumn, "today 02:30"},
		{"2026-10-25T02:30:00+01:00", autumn, "today 02:30 +01:00"}, // the second of two
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		got := FormatTime(at, c.now)
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.at, got, c.want)
		}
		if back, err := ParseTime(got, c.now); err != nil || !back.Equal(at.Truncate(time.Minute)) {
			t.Errorf("%s: %q reads as %v, %v", c.at, got, back, err)
		}
	}
}

func TestFormatDates(t *testing.T) {
	day := func(s string) time.Time {
		if s == "" {
			return time.Time{}
		}
		d, err := time.Parse(time.DateOnly, s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for _, c := range []struct{ v, low, high, want string }{
		{"2027-05-03", "2027-04-20", "2027-05-16", "3 May 2027 (20 Apr 2027 to 16 May 2027)"},
		{"2027-05-03", "2027-02-20", "2027-09-16", "May 2027 (Feb 2027 to Sep 2027)"},
		{"2030-05-03", "2027-02-20", "2035-09-16", "2030 (2027 to 2035)"},
		{"2030-05-03", "2029-02-20", "", "May 2030 (Feb 2029 or later)"},
		{"2030-05-03", "", "2030-06-01", "3 May 2030 (1 Jun 2030 or earlier)"},
		{"2030-05-03", "", "", "3 May 2030"},
		{"", "", "", "unknown"},
	} {
		if got := RoundDate(day(c.v), day(c.low), day(c.high)).String(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
