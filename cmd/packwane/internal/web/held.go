package web

import (
	"crypto/rand"
	"sync"
	"time"

	"packwane/health/gpx"
)

// How many files that were read wait at once to be kept, and how long.
const (
	mostHeld = 8
	heldTime = 30 * time.Minute
)

// heldFile is a file that was read, and whose rider has yet to say that it is
// right. One of trace and track is set.
type heldFile struct {
	name  string // as shown
	pack  string
	trace *TraceDraft
	track *gpx.Summary
	until time.Time
}

// holding keeps files that were read under names that nobody can guess.
type holding struct {
	clock func() time.Time
	mu    sync.Mutex
	files *recent[*heldFile]
}

func newHolding(clock func() time.Time) *holding {
	return &holding{clock: clock, files: newRecent[*heldFile](mostHeld)}
}

// put holds a file and returns the name to get it by.
func (h *holding) put(f *heldFile) string {
	h.mu.Lock()
	defer h.mu.Unlock()
	f.until = h.clock().Add(heldTime)
	key := rand.Text()
	h.files.put(key, f)
	return key
}

// get returns a file that is held; ok is false where it waited too long, or
// was kept already.
func (h *holding) get(key string) (f *heldFile, ok bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	f, ok = h.files.get(key)
	return f, ok && h.clock().Before(f.until)
}

// drop lets go of a file.
func (h *holding) drop(key string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.files.all, key)
}
