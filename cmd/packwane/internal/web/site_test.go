package web_test

import (
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/adrg/xdg"

	"packwane/cmd/packwane/internal/cli"
	"packwane/cmd/packwane/internal/web"
	"packwane/health/logbook"
	"packwane/health/simulate"
	"packwane/store"
)

// noon is when most tests look at the page.
var noon = time.Date(2026, 5, 3, 12, 0, 0, 0, time.FixedZone("", 2*3600))

// TestMain gives the tests a cache folder of their own: fits that another build
// of the program kept are not what they are about.
func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "packwane-cache")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_CACHE_HOME", dir)
	xdg.Reload()
	status := m.Run()
	os.RemoveAll(dir)
	os.Exit(status)
}

// site is a page over a store of its own, behind a real listener.
type site struct {
	t      testing.TB
	store  string
	server *web.Server
	url    string
	client *http.Client
	stop   func() // ends it as a signal would, and waits

	mu     sync.Mutex
	now    time.Time // zero where the clock runs
	links  []string
	faults []error
}

// newSite serves a page until the test ends; change may alter what it is made
// of.
func newSite(t testing.TB, change func(*web.Config)) *site {
	t.Helper()
	s := &site{t: t, store: filepath.Join(t.TempDir(), "log.store"), now: noon}
	s.client = &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	c := web.Config{
		Desk: cli.DeskFor(s.store, s.clock), Clock: s.clock,
		Link:  func(path string) { s.mu.Lock(); s.links = append(s.links, path); s.mu.Unlock() },
		Fault: func(err error) { s.mu.Lock(); s.faults = append(s.faults, err); s.mu.Unlock() },
	}
	if change != nil {
		change(&c)
	}
	s.server = web.New(c)
	s.start("127.0.0.1:0")
	t.Cleanup(func() {
		s.stop()
		s.client.CloseIdleConnections()
		for _, err := range s.faults {
			t.Errorf("the server met a fault: %v", err)
		}
	})
	return s
}

// start listens on an address; stop ends that.
func (s *site) start(address string) {
	s.t.Helper()
	l, err := net.Listen("tcp", address)
	if err != nil {
		s.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.server.Serve(ctx, l) }()
	s.url = "http://" + l.Addr().String()
	s.stop = sync.OnceFunc(func() {
		cancel()
		if err := <-ended; err != nil {
			s.t.Errorf("serving ended with %v", err)
		}
	})
}

// address is what the listener is bound to.
func (s *site) address() string { return strings.TrimPrefix(s.url, "http://") }

func (s *site) clock() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.now.IsZero() {
		return time.Now()
	}
	return s.now
}

func (s *site) setClock(t time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = t
}

// fill puts records into the store, as JSON Lines.
func (s *site) fill(lines string) {
	s.t.Helper()
	if _, err := store.Import(s.store, logbook.Read(strings.NewReader(lines), "test"), "test", s.clock()); err != nil {
		s.t.Fatal(err)
	}
}

// fillDemo puts the invented log of the demo into the store.
func (s *site) fillDemo() {
	s.t.Helper()
	records, _, err := simulate.Demo(s.clock().Truncate(time.Minute))
	if err != nil {
		s.t.Fatal(err)
	}
	var lines []byte
	for _, r := range records {
		lines = append(logbook.AppendJSON(lines, r), '\n')
	}
	s.fill(string(lines))
}

// answer is what came back.
type answer struct {
	status int
	header http.Header
	body   string
}

// do sends a request; headers come in pairs.
func (s *site) do(method, path, body string, headers ...string) answer {
	s.t.Helper()
	req, err := http.NewRequest(method, s.url+path, strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	for i := 0; i+1 < len(headers); i += 2 {
		if headers[i] == "Host" {
			req.Host = headers[i+1]
		} else {
			req.Header.Set(headers[i], headers[i+1])
		}
	}
	out, err := s.client.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer out.Body.Close()
	got, err := io.ReadAll(out.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return answer{out.StatusCode, out.Header, string(got)}
}

func (s *site) get(path string, headers ...string) answer {
	s.t.Helper()
	return s.do("GET", path, "", headers...)
}

// post sends a form as the page's own would; pairs are its fields.
func (s *site) post(path string, pairs ...string) answer {
	s.t.Helper()
	f := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return s.do("POST", path, f.Encode(), "Content-Type", "application/x-www-form-urlencoded", "Origin", s.url)
}

// untilFree asks again while others hold the log: on a slow machine several at
// once take longer than a request waits.
func (s *site) untilFree(ask func() answer) answer {
	s.t.Helper()
	for {
		if a := ask(); a.status != http.StatusServiceUnavailable {
			return a
		}
	}
}

// records are what the store holds now, of one kind.
func (s *site) records(kind logbook.Kind) []logbook.Record {
	s.t.Helper()
	db, err := store.Open(s.store, store.ReadOnly)
	if err != nil {
		s.t.Fatal(err)
	}
	defer db.Close()
	var out []logbook.Record
	for r, err := range db.All(false) {
		if err != nil {
			s.t.Fatal(err)
		}
		if r.Kind() == kind && !logbook.HeadOf(r).Removed {
			out = append(out, r)
		}
	}
	return out
}

// wants checks a status and texts that must stand in the body.
func (a answer) wants(t *testing.T, status int, texts ...string) answer {
	t.Helper()
	if a.status != status {
		t.Errorf("status %d, want %d; %s", a.status, status, clip(a.body))
	}
	for _, text := range texts {
		if !strings.Contains(a.body, text) {
			t.Errorf("%q is not in %s", text, clip(a.body))
		}
	}
	return a
}

func (a answer) lacks(t *testing.T, texts ...string) {
	t.Helper()
	for _, text := range texts {
		if strings.Contains(a.body, text) {
			t.Errorf("%q is in the answer", text)
		}
	}
}

// clip cuts a page down to its main part, for a message.
func clip(body string) string {
	if _, rest, ok := strings.Cut(body, "<main"); ok {
		body = rest
	}
	const most = 3000
	return body[:min(len(body), most)]
}

// kite is one invented board with one pack and a few rides and charges.
var kite = kiteLog()

func kiteLog() string {
	lines := []string{
		`{"record":"board","id":"kite","mass_kg":11.5,"ref_tyre_kpa":240}`,
		`{"record":"pack","id":"kite-a","board":"kite","chemistry":"nmc","series":10,"parallel":4,"cell_capacity_ah":3,"cell_nominal_v":3.6,"cell_full_v":4.2,"limit_v":31,"cutoff_v":28,"need_range_km":20}`,
	}
	at := noon.AddDate(0, 0, -60)
	for i := range 12 {
		ride := at.AddDate(0, 0, 4*i)
		wander := float64(i%3) / 5
		lines = append(lines,
			string(logbook.AppendJSON(nil, &logbook.Ride{
				Head: logbook.Head{ID: "ride-" + string(rune('a'+i)), Rev: 1}, Pack: "kite-a", Board: "kite", At: ride, End: ride.Add(70 * time.Minute), DistanceKm: logbook.Some(27 - wander),
				DischargedAh: logbook.Some(11.2), DischargedWh: logbook.Some(402), AmbientC: logbook.Some(14 + 3*wander), TyreKpa: logbook.Some(240), Stop: "limit", MovingSpeedKmh: logbook.Some(24), RiderKg: logbook.Some(80), Route: "river",
			})),
			string(logbook.AppendJSON(nil, &logbook.Charge{
				Head: logbook.Head{ID: "charge-" + string(rune('a'+i)), Rev: 1}, Pack: "kite-a", At: ride.Add(20 * time.Hour), ChargedAh: logbook.Some(11.25), ChargedWh: logbook.Some(425), Full: logbook.Yes, HoldMin: logbook.Some(60),
			})))
	}
	return strings.Join(lines, "\n") + "\n"
}

var kinds = slices.Collect(func(yield func(string) bool) {
	for _, k := range logbook.Kinds {
		if !yield(k.String()) {
			return
		}
	}
})

// TestReportShowsLosses: what the pack's page draws of its losses, its report draws
// too, and does not ask to log it.
func TestReportShowsLosses(t *testing.T) {
	s := newSite(t, nil)
	s.fillDemo()
	for _, path := range []string{"/pack?id=wren-pack", "/report?pack=wren-pack"} {
		s.get(path).wants(t, 200, "Lost at rest").lacks(t, "Log the volts at rest before", "Log the Wh of every ride")
	}
}

// command runs the program as from a shell.
func (s *site) command(args ...string) string {
	s.t.Helper()
	var out, errs bytes.Buffer
	streams := cli.Streams{In: strings.NewReader(""), Out: &out, Err: &errs, Getenv: func(string) string { return "" }}
	if status := cli.Main(append([]string{"--store", s.store}, args...), streams, s.clock); status != 0 {
		s.t.Fatalf("packwane %q: status %d, %s", args, status, errs.String())
	}
	return out.String()
}
