package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"packwane/health/logbook"
)

// call runs one command line on terminals, with what a person types.
func call(t *testing.T, store, typed string, args ...string) (status int, out, errs string) {
	t.Helper()
	a, o, e := newTestApp(typed, true)
	status = Main(append([]string{"--store", store}, args...), a.streams, func() time.Time { return a.now })
	for _, line := range strings.Split(o.String(), "\n") {
		if columns(strings.NewReplacer("\x1b[1m", "", "\x1b[0m", "").Replace(line)) > mostColumns {
			t.Errorf("%v: a line of %d columns: %q", args, columns(line), line)
		}
	}
	return status, o.String(), e.String()
}

// TestQuestions: on a terminal a slip is a question, and only yes keeps it.
func TestQuestions(t *testing.T) {
	store := filepath.Join(t.TempDir(), "log.store")
	add := []string{"pack", "add", "reed-a", "series=10", "parallel=4", "cell-capacity=3Ah", "cell-full=4.2V"}
	if status, _, errs := call(t, store, "", add...); status != statusDone {
		t.Fatal(errs)
	}
	for _, tc := range []struct {
		typed string
		want  int
	}{{"n\n", statusWrong}, {"\n", statusWrong}, {"", statusWrong}, {"maybe\n", statusWrong}, {"Yes\n", statusDone}} {
		status, out, errs := call(t, store, tc.typed, "log", "ride", "distance=2300", "at=9:00")
		if status != tc.want {
			t.Errorf("typed %q: status %d, want %d (%s)", tc.typed, status, tc.want, errs)
		}
		if !strings.HasPrefix(errs, "distance 2300 km is farther") || !strings.Contains(errs, "[y/N] ") {
			t.Errorf("typed %q: asked %q", tc.typed, errs)
		}
		if kept := strings.Contains(out, logbook.KeptAgainstAdvice+"distance_km"); kept != (tc.want == statusDone) {
			t.Errorf("typed %q: printed %q", tc.typed, out)
		}
	}
	if status, _, errs := call(t, store, "n\n", "remove", "reed-a"); status != statusWrong || !strings.Contains(errs, "Remove it?") {
		t.Errorf("remove, no: status %d, %q", status, errs)
	}
	if status, out, _ := call(t, store, "y\n", "remove", "reed-a"); status != statusDone || !strings.Contains(out, "restore reed-a") {
		t.Errorf("remove, yes: status %d, %q", status, out)
	}
}

// TestLongTrace: a terminal shows the latest segments of a long trace and says
// how many more there are. The trace is invented: 12 rides and charges.
func TestLongTrace(t *testing.T) {
	dir := t.TempDir()
	store, file := filepath.Join(dir, "log.store"), filepath.Join(dir, "long.csv")
	var b strings.Builder
	b.WriteString("seconds,volts,amps\n")
	for s := 0; s < 12*3600; s += 20 {
		volts, amps := 40.0, 0.0
		switch at := s % 3600; {
		case at < 600:
			volts, amps = 39, -9
		case at >= 1800 && at < 2400:
			volts, amps = 41, 9
		}
		fmt.Fprintf(&b, "%d,%.1f,%.1f\n", s, volts, amps)
	}
	if err := os.WriteFile(file, []byte(b.String()), 0o666); err != nil {
		t.Fatal(err)
	}
	if status, _, errs := call(t, store, "", "pack", "add", "reed-a", "series=10", "parallel=4", "cell-capacity=3Ah", "cell-full=4.2V"); status != statusDone {
		t.Fatal(errs)
	}
	status, out, errs := call(t, store, "", "trace", file, "--pack", "reed-a", "--start", "2026-05-03T08:00:00Z", "--dry-run")
	if status != statusDone || !strings.Contains(out, "8 earlier segments not shown") {
		t.Errorf("status %d, %s, printed %q", status, errs, out)
	}
	if n := strings.Count(out, "\nrest ") + strings.Count(out, "\nride ") + strings.Count(out, "\ncharge "); n != mostRows {
		t.Errorf("%d segments are shown", n)
	}
	if strings.Contains(out, "2026-05-03 08:") || !strings.Contains(out, "2026-05-03 19:") {
		t.Errorf("not the latest: %s", out)
	}
}

// TestLongList: a terminal shows the latest rows and says how many more there
// are; hostile names reach it harmless.
func TestLongList(t *testing.T) {
	dir := t.TempDir()
	store, file := filepath.Join(dir, "log.store"), filepath.Join(dir, "many.jsonl")
	var b strings.Builder
	b.WriteString(`{"record":"pack","id":"reed-a"}` + "\n")
	for day := 1; day <= 28; day++ {
		for _, hour := range []string{"08", "18"} {
			b.WriteString(`{"record":"ride","pack":"reed-a","at":"2026-04-` + pad(itoa(day), 2, true) + `T` + hour + `:00:00Z","distance_km":7,"note":"left \u202e right"}` + "\n")
		}
	}
	text := strings.ReplaceAll(b.String(), "04- ", "04-0")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if status, _, errs := call(t, store, "", "import", file); status != statusDone {
		t.Fatal(errs)
	}
	status, out, errs := call(t, store, "", "list", "reed-a")
	if status != statusDone || !strings.Contains(out, "17 records earlier not shown") || strings.Count(out, "\n") != mostRows+2 {
		t.Errorf("status %d, %s%s", status, out, errs)
	}
	if strings.Contains(out, "\u202e") {
		t.Error("a mark that turns the direction of writing reached the terminal")
	}
	if _, out, _ := call(t, store, "", "list", "--kind", "pack"); !strings.Contains(out, "reed-a") {
		t.Errorf("packs: %q", out)
	}
	if _, out, _ := call(t, store, "", "list", "--removed"); out != "nothing was removed\n" {
		t.Errorf("removed: %q", out)
	}
}

// TestAsOf: a date means to its end in the rider's zone.
func TestAsOf(t *testing.T) {
	a, _, _ := newTestApp("", false)
	for _, tc := range []struct{ flag, want string }{
		{"", scriptNow}, {"2026-04-01", "2026-04-01T23:59:59+02:00"},
		{"2026-04-01T08:00:00Z", "2026-04-01T08:00:00Z"}, {"2026-04-01T08:00:00.5+01:00", "2026-04-01T08:00:00.5+01:00"},
	} {
		a.asOfFlag = tc.flag
		got, err := a.asOf()
		if err != nil || got.Format(time.RFC3339Nano) != tc.want {
			t.Errorf("--as-of %q: %v, %v; want %s", tc.flag, got, err, tc.want)
		}
	}
	for _, bad := range []string{"yesterday", "2026-13-01", "2026-04-01T08:00:00", "1"} {
		a.asOfFlag = bad
		if _, err := a.asOf(); statusOf(err) != statusWrong {
			t.Errorf("--as-of %q: %v", bad, err)
		}
	}
}

// TestDialogue: --ask goes through the fields, asks again where an answer
// cannot be taken, and leaves out what is left blank.
func TestDialogue(t *testing.T) {
	store := filepath.Join(t.TempDir(), "log.store")
	if status, _, errs := call(t, store, "", "pack", "add", "reed-a", "series=10"); status != statusDone {
		t.Fatal(errs)
	}
	answers := "yesterday 18:30\n19:20\nfar\n9.5 mi\n165 Wh\n\n\nchosen\na short one\n"
	status, out, errs := call(t, store, answers, "log", "ride", "--ask")
	if status != statusDone {
		t.Fatalf("status %d: %s", status, errs)
	}
	for _, want := range []string{"  yesterday 18:30\n", "  yesterday 19:20\n", "15.29 km (9.5 mi)", "165 Wh", "chosen", "a short one"} {
		if !strings.Contains(out, want) {
			t.Errorf("the answers gave %q, which lacks %q", out, want)
		}
	}
	if strings.Contains(out, "ambient") || strings.Contains(out, "tyre") {
		t.Errorf("a blank answer was kept: %q", out)
	}
	if n := strings.Count(errs, "distance ("); n != 2 || !strings.Contains(errs, `"far"`) {
		t.Errorf("distance was asked %d times: %q", n, errs)
	}
	// What the call says already is not asked for.
	status, _, errs = call(t, store, "\n\n\n\n", "log", "check", "--ask", "resistance=90mohm", "note=x")
	if status != statusDone || strings.Contains(errs, "resistance (") || strings.Contains(errs, "note (") {
		t.Errorf("status %d, asked %q", status, errs)
	}
	if status, _, errs := call(t, store, "today 9:00\n", "log", "charge", "--ask"); status != statusWrong || !strings.Contains(errs, "nothing was kept") {
		t.Errorf("answers that end early: status %d, %q", status, errs)
	}
}
