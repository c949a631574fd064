package web

import (
	"context"
	"crypto/tls"
	"errors"
	"io"
	"iter"
	"net"
	"net/http"
	"sync"
	"time"

	"packwane/cmd/packwane/internal/typed"
	"packwane/health/gpx"
	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/trace"
	"packwane/health/units"
	"packwane/store"
)

// ErrEmpty is returned by Desk.Read where nothing was ever logged.
var ErrEmpty = errors.New("nothing is logged yet")

// Desk is what the pages share with the commands: how the log is reached, and
// how words become a record. Its methods are called from many goroutines; each
// opens the store for one load or one write.
type Desk interface {
	// Read opens the store for reading, calls f and closes it.
	Read(f func(*store.Store) error) error
	// Change opens the store for writing, calls f and closes it.
	Change(f func(*store.Store) error) error
	// Import reads entries into the store, all or nothing.
	Import(entries iter.Seq2[logbook.Entry, error], why string, now time.Time) (store.Summary, error)
	// Trace reads a time series of a pack, without keeping what it holds.
	Trace(ctx context.Context, r io.Reader, ask TraceAsk, who typed.Rider) (*TraceDraft, error)
	// Track measures a GPS track, against what the log knows of the pack.
	Track(r io.Reader, name, pack string, who typed.Rider) (*gpx.Summary, error)
	// TrackRide makes a draft of what a track tells, without keeping it: of a new ride of the pack, or, with the id of a
	// ride, of that ride with what it lacked. It also says which fields stay as they were logged.
	TrackRide(s *gpx.Summary, pack, ride string, who typed.Rider) (*Draft, []string, error)
	// Rider returns how the rider likes to read and type.
	Rider(s *store.Store, now time.Time) (typed.Rider, error)
	// Prefer keeps the rider's units.
	Prefer(units.System) error
	// LastPack returns the id of the pack that is meant where none is named, "" where that is not known.
	LastPack(s *store.Store) (string, error)
	// Draft makes a new record of words, without keeping it; id is "" where it is to be made from the content.
	Draft(k logbook.Kind, id string, words []typed.Word, who typed.Rider) (*Draft, error)
	// Amend changes fields of a record whose revision rev was seen, without keeping it.
	Amend(k logbook.Kind, id string, rev int, words []typed.Word, who typed.Rider) (*Draft, error)
	// Restore brings back revision back (0: the last before it was removed) of a record whose revision rev was seen,
	// without keeping it.
	Restore(k logbook.Kind, id string, rev, back int, who typed.Rider) (*Draft, error)
	// Caution returns what the rider should be told about a record; p is its pack, nil where it has none.
	Caution(r logbook.Record, p *logbook.Pack) string
	// Calendar writes reminders as an iCalendar file.
	Calendar(w io.Writer, list []report.Reminder, asOf time.Time, sys units.System) error
	// Report writes a report of packs as a page of its own, or as Markdown.
	Report(w io.Writer, known []report.Known, sys units.System, zone *time.Location, markdown bool) error
	// Fit fits the model, or gets a fit that was kept.
	Fit(h *logbook.History, siblings []model.Sibling) *model.Fit
	// Wrong reports whether err lies in what was asked for, not in the store.
	Wrong(err error) bool
}

// Draft is a record that was understood and not kept yet.
type Draft struct {
	Record  logbook.Record
	As      map[string]string // quantities as they were typed, by field name
	Slips   []Slip            // what looks wrong
	Caution string            // what the rider should be told
	There   bool              // the log holds the very same
	Held    string            // why it cannot be kept though nothing is wrong with it: the log held it once, and it was changed or removed since
	Nothing bool              // an amendment that changes nothing
	// Keep stores the record and returns it as stored. What looks wrong is kept
	// only against advice, and marked.
	Keep func(against bool) (logbook.Record, error)
}

// Slip is a value that looks wrong.
type Slip struct {
	Field string
	Words string // in the rider's units
}

// TraceAsk says how a time series is to be read.
type TraceAsk struct {
	Name   string // of the file, only to be shown
	Pack   string
	Map    trace.Mapping
	Start  time.Time // of the first row; zero where the file says
	Closed time.Time // when the file was closed, as far as is known
}

// TraceDraft is a time series that was read and not kept yet.
type TraceDraft struct {
	Pack  *logbook.Pack
	Read  *trace.Result
	Count map[logbook.Kind]int // of the records that the log does not hold yet
	// Keep adds the records, and keeps how the columns were read for the next files of the pack.
	Keep func(saveMap bool) (store.Summary, error)
}

// Config says what a server serves, to whom.
type Config struct {
	Desk  Desk
	Clock func() time.Time
	Names []string     // host names that it is called by, besides the addresses that it listens on
	TLS   *tls.Config  // with which connections are encrypted; nil where they are not
	Pair  bool         // browsers are paired by a one-time link before they see anything
	Link  func(string) // shows the path of a new pairing link to whoever started the server
	Fault func(error)  // told of what went wrong inside
}

// Server serves the page.
type Server struct {
	Config
	mux      *http.ServeMux
	assets   *assets
	sessions *sessions
	limits   *limiter
	held     *holding
	reading  chan struct{} // one long file at a time
	memory   *memory
	woken    chan struct{}
}

// New makes a server. Where browsers are paired, it shows the first link.
func New(c Config) *Server {
	if c.Fault == nil {
		c.Fault = func(error) {}
	}
	if c.Link == nil {
		c.Link = func(string) {}
	}
	s := &Server{Config: c, mux: http.NewServeMux(), assets: loadAssets(), limits: newLimiter(c.Clock), held: newHolding(c.Clock), reading: make(chan struct{}, 1), woken: make(chan struct{}, 1)}
	s.sessions = newSessions(c.Clock)
	s.memory = newMemory(c.Desk.Fit)
	s.route()
	if c.Pair {
		c.Link(pairPath + s.sessions.newLink())
	}
	return s
}

// How long a client may take, and how much it may say before its body.
const (
	headerTime  = 5 * time.Second
	bodyTime    = 2 * time.Minute
	answerTime  = 3 * time.Minute
	idleTime    = 2 * time.Minute
	headerBytes = 16 << 10
	closeTime   = 5 * time.Second
)

// Serve answers on the listener until ctx ends; then it finishes what is under
// way and returns nil.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	h := &http.Server{
		Handler: s.Handler(), ReadHeaderTimeout: headerTime, ReadTimeout: bodyTime, WriteTimeout: answerTime, IdleTimeout: idleTime,
		MaxHeaderBytes: headerBytes, ErrorLog: quietLog,
	}
	var work sync.WaitGroup
	defer work.Wait()
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	work.Go(func() { s.warm(ctx) })
	s.wake()
	ended := make(chan error, 1)
	go func() { ended <- s.listen(h, l) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), closeTime)
	defer cancel()
	if err := h.Shutdown(last); err != nil {
		h.Close()
	}
	if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

func (s *Server) listen(h *http.Server, l net.Listener) error {
	if s.TLS == nil {
		return h.Serve(l)
	}
	h.TLSConfig = s.TLS
	return h.ServeTLS(l, "", "")
}
