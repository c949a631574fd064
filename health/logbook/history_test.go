package logbook_test

import (
	"errors"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

// historyLog is an invented log of two boards and three packs. kite-a and
// kite-b are ridden on the kite; wren-a on the wren, and once on the kite.
const historyLog = `
{"record":"board","id":"kite"}
{"record":"board","id":"wren"}
{"record":"board","id":"lark"}
{"record":"pack","id":"kite-a","board":"kite"}
{"record":"pack","id":"kite-b","board":"kite"}
{"record":"pack","id":"wren-a","board":"wren"}
{"record":"setup","id":"s1","board":"kite","at":"2026-05-01T12:00:00Z","mass_kg":18}
{"record":"setup","id":"s2","pack":"kite-a","at":"2026-05-03T12:00:00Z","limit_v":34}
{"record":"setup","id":"s3","board":"wren","at":"2026-05-01T12:00:00Z","mass_kg":15}
{"record":"setup","id":"s4","board":"lark","at":"2026-05-01T12:00:00Z","mass_kg":15}
{"record":"charge","id":"c1","pack":"kite-a","start":"2026-05-02T09:00:00Z","at":"2026-05-02T12:00:00Z"}
{"record":"charge","id":"c2","pack":"kite-b","at":"2026-05-02T12:00:00Z"}
{"record":"charge","id":"c3","pack":"kite-a","start":"2026-05-05T11:00:00Z","at":"2026-05-05T14:00:00Z"}
{"record":"ride","id":"r1","pack":"kite-a","at":"2026-05-02T18:00:00Z","end":"2026-05-02T19:00:00Z"}
{"record":"ride","id":"r2","pack":"kite-b","at":"2026-05-03T18:00:00Z"}
{"record":"ride","id":"r3","pack":"kite-a","board":"wren","at":"2026-05-04T18:00:00Z","moving_min":90}
{"record":"ride","id":"r4","pack":"wren-a","board":"kite","at":"2026-05-01T08:00:00Z"}
{"record":"ride","id":"r5","pack":"wren-a","at":"2026-05-01T09:00:00Z"}
{"record":"ride","id":"r6","pack":"kite-a","at":"2026-05-05T10:00:00Z","end":"2026-05-05T13:00:00Z"}
{"record":"ride","id":"r7","pack":"kite-a","at":"2026-05-01T10:00:00Z","rev":2,"removed":true}
{"record":"check","id":"k1","pack":"kite-a","at":"2026-05-04T12:00:00Z"}
{"record":"check","id":"k2","pack":"wren-a","at":"2026-05-04T12:00:00Z"}
{"record":"service","id":"v1","board":"kite","at":"2026-05-02T12:00:00Z","kind":"inspection"}
{"record":"service","id":"v2","pack":"kite-a","at":"2026-05-05T12:00:00Z","kind":"storage","until":"2026-09-01T12:00:00Z"}
{"record":"service","id":"v3","board":"lark","at":"2026-05-02T12:00:00Z","kind":"repair"}
`

func historyRecords(t *testing.T) []logbook.Record {
	t.Helper()
	entries, err := readAll(historyLog)
	if err != nil {
		t.Fatal(err)
	}
	var out []logbook.Record
	for _, e := range entries {
		out = append(out, e.Record)
	}
	return out
}

// ids lists what a history holds, the lists parted by bars.
func ids(h *logbook.History) string {
	var b strings.Builder
	b.WriteString(h.Pack.ID + " |")
	for _, id := range sortedKeys(h.Boards) {
		b.WriteString(" " + id)
	}
	listIDs(&b, h.Setups)
	listIDs(&b, h.Charges)
	listIDs(&b, h.Rides)
	listIDs(&b, h.Checks)
	listIDs(&b, h.Services)
	listIDs(&b, h.OtherRides)
	return b.String()
}

func listIDs[T logbook.Record](b *strings.Builder, list []T) {
	b.WriteString(" |")
	for _, r := range list {
		b.WriteString(" " + logbook.HeadOf(r).ID)
	}
}

func at(text string) time.Time {
	t, err := time.Parse(time.RFC3339, "2026-05-"+text+":00Z")
	if err != nil {
		panic(err)
	}
	return t
}

func TestHistory(t *testing.T) {
	const kiteA = "kite-a | kite wren | s1 s3 s2 | c1 c3 | r1 r3 r6 | k1 | v1 v2 | r4 r5 r2"
	for _, c := range []struct {
		pack string
		asOf time.Time
		want string
	}{
		{"kite-a", at("30T00:00"), kiteA},
		{"kite-a", at("05T14:00"), kiteA}, // what ends just then has ended
		{"kite-a", at("05T13:59"), "kite-a | kite wren | s1 s3 s2 | c1 | r1 r3 r6 | k1 | v1 v2 | r4 r5 r2"},
		{"kite-a", at("05T12:59"), "kite-a | kite wren | s1 s3 s2 | c1 | r1 r3 | k1 | v1 v2 | r4 r5 r2"}, // r6 still rides
		{"kite-a", at("04T19:29"), "kite-a | kite | s1 s2 | c1 | r1 | k1 | v1 | r4 r2"},                  // r3 moves until 19:30: the wren is not known yet
		{"kite-a", at("02T11:59"), "kite-a | kite | s1 |  |  |  |  | r4"},                                // c1 has begun, not ended
		{"kite-a", at("01T00:00"), "kite-a | kite |  |  |  |  |  | "},
		{"kite-b", at("30T00:00"), "kite-b | kite | s1 | c2 | r2 |  | v1 | r4 r1 r6"},
		{"wren-a", at("30T00:00"), "wren-a | kite wren | s1 s3 |  | r4 r5 | k2 | v1 | r1 r2 r3 r6"},
	} {
		h, err := logbook.NewHistory(c.pack, historyRecords(t), c.asOf)
		if err != nil {
			t.Fatal(err)
		}
		want := strings.ReplaceAll(c.want, "|  |", "| |")
		want = strings.TrimSuffix(strings.ReplaceAll(want, "|  |", "| |"), " ")
		if got := ids(h); got != want {
			t.Errorf("%s at %v:\n%s, want\n%s", c.pack, c.asOf, got, want)
		}
		if !h.AsOf.Equal(c.asOf) {
			t.Errorf("as of %v", h.AsOf)
		}
	}
	if _, err := logbook.NewHistory("robin", historyRecords(t), at("30T00:00")); !errors.Is(err, logbook.ErrNoPack) {
		t.Errorf("an unknown pack: %v", err)
	}
	if _, err := logbook.NewHistory("kite", historyRecords(t), at("30T00:00")); !errors.Is(err, logbook.ErrNoPack) {
		t.Errorf("a board for a pack: %v", err)
	}
}

func TestHistoryIgnoresOrder(t *testing.T) {
	want := ""
	random := rand.New(rand.NewPCG(3, 4))
	for range 50 {
		all := historyRecords(t)
		random.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		h, err := logbook.NewHistory("kite-a", all, at("30T00:00"))
		if err != nil {
			t.Fatal(err)
		}
		got := ids(h) + " ||"
		for _, r := range h.Records() {
			got += " " + logbook.HeadOf(r).ID
		}
		if want == "" {
			want = got
		}
		if got != want {
			t.Fatalf("%s\nin another order\n%s", want, got)
		}
	}
}

func TestHistoryOfRemovedPack(t *testing.T) {
	all := historyRecords(t)
	for _, r := range all {
		if p, ok := r.(*logbook.Pack); ok && p.ID == "kite-a" {
			p.Removed = true
		}
	}
	if _, err := logbook.NewHistory("kite-a", all, at("30T00:00")); !errors.Is(err, logbook.ErrNoPack) {
		t.Errorf("a removed pack: %v", err)
	}
	if h, err := logbook.NewHistory("kite-b", all, at("30T00:00")); err != nil || len(h.Rides) != 1 {
		t.Errorf("another pack: %v", err)
	}
}

func TestRideBoard(t *testing.T) {
	h, err := logbook.NewHistory("kite-a", historyRecords(t), at("30T00:00"))
	if err != nil {
		t.Fatal(err)
	}
	if got := h.RideBoard(h.Rides[0]) + " " + h.RideBoard(h.Rides[1]); got != "kite wren" {
		t.Errorf("ridden on %s", got)
	}
}

func TestEndOf(t *testing.T) {
	for text, want := range map[string]time.Time{
		`{"record":"ride","at":"2026-05-02T18:00:00Z"}`:                                                   at("02T18:00"),
		`{"record":"ride","at":"2026-05-02T18:00:00Z","moving_min":30}`:                                   at("02T18:30"),
		`{"record":"ride","at":"2026-05-02T18:00:00Z","moving_min":30,"end":"2026-05-02T21:00:00+02:00"}`: at("02T19:00"),
		`{"record":"charge","start":"2026-05-02T15:00:00Z","at":"2026-05-02T18:00:00Z"}`:                  at("02T18:00"),
		`{"record":"service","at":"2026-05-02T18:00:00Z","kind":"snooze","until":"2026-06-02T18:00:00Z"}`: at("02T18:00"),
		`{"record":"board","id":"kite"}`:                                                                  {},
	} {
		if got := logbook.EndOf(parse(t, text)); !got.Equal(want) {
			t.Errorf("%s ended %v, want %v", text, got, want)
		}
	}
}

// TestRetiredAt: new cells bring a pack back; what befalls another does not.
func TestRetiredAt(t *testing.T) {
	h := &logbook.History{Pack: &logbook.Pack{Head: logbook.Head{ID: "kite-a"}}}
	for _, step := range []struct {
		pack, what string
		day        string
		want       time.Time
	}{
		{"kite-a", "inspection", "02T10:00", time.Time{}},
		{"wren-a", "retired", "03T10:00", time.Time{}},
		{"kite-a", "retired", "04T10:00", at("04T10:00")},
		{"kite-a", "storage", "05T10:00", at("04T10:00")},
		{"kite-a", "cells_replaced", "06T10:00", time.Time{}},
		{"kite-a", "retired", "07T10:00", at("07T10:00")},
	} {
		h.Services = append(h.Services, &logbook.Service{Pack: step.pack, What: step.what, At: at(step.day)})
		if got := h.RetiredAt(); !got.Equal(step.want) {
			t.Errorf("after %s of %s: retired at %v, want %v", step.what, step.pack, got, step.want)
		}
	}
}

// TestPackAt: volts are a pack's, by a setup that names it; mass and tyres are a
// board's, also where a setup names the pack that is usually on it.
func TestPackAt(t *testing.T) {
	some := logbook.Some
	h := &logbook.History{
		Pack:   &logbook.Pack{Head: logbook.Head{ID: "a"}, Board: "kite", LimitV: some(30), CellFullV: some(4.2)},
		Boards: map[string]*logbook.Board{"kite": {Head: logbook.Head{ID: "kite"}, MassKg: some(11.5)}},
		Setups: []*logbook.Setup{
			{Pack: "a", At: at("05T10:00"), LimitV: some(31), Tyre: "knobby"},
			{Pack: "b", At: at("06T10:00"), LimitV: some(40), MassKg: some(20)},
			{Board: "wren", At: at("06T10:00"), LimitV: some(41)},
			{Board: "kite", At: at("07T10:00"), LimitV: some(32), CutoffV: some(28)},
			{Pack: "a", At: at("09T10:00"), CutoffV: some(28), Tyre: "solid"},
		},
	}
	if p := h.FirstSetUp(); p.LimitV != some(30) || p.CutoffV != some(28) {
		t.Errorf("at first: %+v", p)
	}
	for _, c := range []struct {
		day           string
		limit, cutoff logbook.Num
		tyre          string
	}{
		{"04T10:00", some(30), logbook.Num{}, ""},
		{"05T10:00", some(31), logbook.Num{}, "knobby"},
		{"06T12:00", some(31), logbook.Num{}, "knobby"},
		{"08T10:00", some(31), logbook.Num{}, "knobby"},
		{"10T10:00", some(31), some(28), "solid"},
	} {
		p, b := h.PackAt(at(c.day)), h.BoardAt("kite", at(c.day))
		if p.LimitV != c.limit || p.CutoffV != c.cutoff || p.CellFullV != some(4.2) || b.Tyre != c.tyre || b.MassKg != some(11.5) {
			t.Errorf("on %s: %+v, %+v", c.day, p, b)
		}
	}
	if h.Pack.LimitV != some(30) {
		t.Error("the pack itself was changed")
	}
}

// TestBoardAt: a setup holds from its time on, and only for what it says.
func TestBoardAt(t *testing.T) {
	some := logbook.Some
	h := &logbook.History{
		Pack:   &logbook.Pack{Head: logbook.Head{ID: "a"}},
		Boards: map[string]*logbook.Board{"kite": {Head: logbook.Head{ID: "kite"}, MassKg: some(11.5), Tyre: "road", RefTyreKpa: some(240)}},
		Setups: []*logbook.Setup{
			{Board: "kite", At: at("05T10:00"), RefTyreKpa: some(200)},
			{Board: "wren", At: at("06T10:00"), MassKg: some(30)},
			{Board: "kite", At: at("07T10:00"), MassKg: some(12.5), Tyre: "knobby"},
			{Board: "kite", At: at("09T10:00"), Tyre: "8 inch solid"},
			{Board: "kite", At: at("11T10:00"), Tyre: "road"},
		},
	}
	for _, c := range []struct {
		id, day  string
		kg, kpa  logbook.Num
		tyreName string
	}{
		{"kite", "04T10:00", some(11.5), some(240), "road"},
		{"kite", "05T10:00", some(11.5), some(200), "road"},
		{"kite", "08T10:00", some(12.5), some(200), "knobby"},
		{"kite", "10T10:00", some(12.5), logbook.Num{}, "8 inch solid"},
		{"kite", "12T10:00", some(12.5), some(200), "road"},
		{"wren", "08T10:00", some(30), logbook.Num{}, ""},
		{"", "08T10:00", logbook.Num{}, logbook.Num{}, ""},
	} {
		if b := h.BoardAt(c.id, at(c.day)); b.ID != c.id || b.MassKg != c.kg || b.RefTyreKpa != c.kpa || b.Tyre != c.tyreName {
			t.Errorf("%s on %s: %+v", c.id, c.day, b)
		}
	}
	if b := h.Boards["kite"]; b.RefTyreKpa != some(240) {
		t.Error("the board itself was changed")
	}
}
