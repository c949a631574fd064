package logbook

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"time"
)

// past is what a history says of its pack as a whole, sorted so that holding
// one record against all others takes few steps however many there are.
type past struct {
	consumption spread            // Wh/km of each ride
	riders      map[string]spread // kg, by rider
	tyres       map[string]spread // kPa, by board
	ohms        map[string]spread // milliohms, by method
	odometers   map[string][]*Ride
	setups      map[string][]*Setup // with a reference pressure, by board
	full        []*Setup            // of the pack, with a full voltage
	limits      []*Setup            // of the pack, with a limit
	cutoffs     []*Setup            // of the pack, with a cutoff
	spans       *spans

	probes int // entries that were looked at, for the test of the cost
}

func newPast(h *History) *past {
	p := &past{riders: map[string]spread{}, tyres: map[string]spread{}, ohms: map[string]spread{}, odometers: map[string][]*Ride{}, setups: map[string][]*Setup{}}
	for _, r := range h.Rides {
		p.addRide(h, r)
	}
	for _, list := range [][]*Ride{h.Rides, h.OtherRides} {
		for _, r := range list {
			if r.OdometerKm.OK {
				board := anyBoard(h, r)
				p.odometers[board] = append(p.odometers[board], r)
			}
		}
	}
	for _, list := range p.odometers {
		slices.SortStableFunc(list, func(a, b *Ride) int { return a.At.Compare(b.At) })
	}
	for _, c := range h.Checks {
		if c.ResistanceMohm.OK {
			addTo(p.ohms, ohmsBy(c), c.ID, c.ResistanceMohm.V)
		}
	}
	for _, s := range h.Setups {
		if h.ForPack(s) {
			p.addSetup(s)
		}
		if board := cmp.Or(s.Board, h.Pack.Board); board != "" && s.RefTyreKpa.OK {
			p.setups[board] = append(p.setups[board], s)
		}
	}
	p.consumption.sort()
	for _, group := range []map[string]spread{p.riders, p.tyres, p.ohms} {
		for _, s := range group {
			s.sort()
		}
	}
	p.spans = newSpans(h, &p.probes)
	return p
}

// ohmsBy is the method of a check; one that says none measured with direct current.
func ohmsBy(c *Check) string { return cmp.Or(c.Method, "dc") }

func (p *past) addSetup(s *Setup) {
	if s.CellFullV.OK {
		p.full = append(p.full, s)
	}
	if s.LimitV.OK {
		p.limits = append(p.limits, s)
	}
	if s.CutoffV.OK {
		p.cutoffs = append(p.cutoffs, s)
	}
}

func (p *past) addRide(h *History, r *Ride) {
	if net := r.DischargedWh.V - r.RegenWh.Or(0); r.DistanceKm.V > 0 && net > 0 && math.Abs(rises(r)) < slipHillM {
		p.consumption.add(r.ID, net/r.DistanceKm.V)
	}
	if r.RiderKg.OK {
		addTo(p.riders, r.Rider, r.ID, r.RiderKg.V)
	}
	if r.TyreKpa.OK {
		addTo(p.tyres, anyBoard(h, r), r.ID, r.TyreKpa.V)
	}
}

// anyBoard is the board of any ride in the history; other packs' rides are
// there only for boards of this pack, and the one that names none is on its
// own pack's usual board, which is not known here: it is taken as this one's.
func anyBoard(h *History, r *Ride) string {
	if r.Board != "" {
		return r.Board
	}
	return h.Pack.Board
}

// spread is the sorted figures of one kind of record, and whose each is.
type spread struct {
	sorted []float64
	own    map[string]float64 // by record id
}

func addTo(group map[string]spread, name, id string, v float64) {
	s := group[name]
	s.add(id, v)
	group[name] = s
}

func (s *spread) add(id string, v float64) {
	if s.own == nil {
		s.own = map[string]float64{}
	}
	s.own[id] = v
	s.sorted = append(s.sorted, v)
}

func (s spread) sort() { slices.Sort(s.sorted) }

// without returns how many figures there are but that of the record id, and
// their median (0 where there is none).
func (s spread) without(id string) (n int, median float64) {
	n, skip := len(s.sorted), len(s.sorted)
	if v, ok := s.own[id]; ok {
		skip, _ = slices.BinarySearch(s.sorted, v)
		n--
	}
	if n == 0 {
		return 0, 0
	}
	at := func(i int) float64 {
		if i >= skip {
			i++
		}
		return s.sorted[i]
	}
	return n, (at((n-1)/2) + at(n/2)) / 2
}

// neighbours returns the rides on the board with an odometer reading next
// before (or with) r and next after it; nil where there is none. Of several at
// one time it is the first.
func (p *past) neighbours(board string, r *Ride) (before, after *Ride) {
	list := p.odometers[board]
	from := func(t time.Time) int {
		return sort.Search(len(list), func(i int) bool { return !list[i].At.Before(t) })
	}
	next := sort.Search(len(list), func(i int) bool { return list[i].At.After(r.At) })
	if next < len(list) {
		after = list[next]
	}
	for end := next; end > 0; {
		p.probes++
		first := from(list[end-1].At)
		if list[first].ID == r.ID && first+1 < end {
			first++
		}
		if list[first].ID != r.ID {
			return list[first], after
		}
		end = first // it stands alone at its time
	}
	return nil, after
}

// lastBy returns the last setup of a list in the order of time that holds at t,
// other than the one with the id; nil where there is none.
func lastBy(list []*Setup, t time.Time, id string) *Setup {
	for i := sort.Search(len(list), func(i int) bool { return list[i].At.After(t) }) - 1; i >= 0; i-- {
		if list[i].ID != id {
			return list[i]
		}
	}
	return nil
}

// spans are the rides and charges of a history in the order in which they
// began.
type spans struct {
	all    []span
	ends   peaks // of all
	long   peaks // of those that last longer than slipTouch
	points []int // those without length
}

type span struct {
	r        Record
	from, to time.Time
}

// same reports whether the span is that of the record itself.
func (s span) same(r Record) bool {
	return s.r.Kind() == r.Kind() && HeadOf(s.r).ID == HeadOf(r).ID
}

func newSpans(h *History, probes *int) *spans {
	s := &spans{}
	for _, r := range h.Rides {
		s.all = append(s.all, span{r, r.At, EndOf(r)})
	}
	for _, c := range h.Charges {
		from := c.Start
		if from.IsZero() {
			from = c.At
		}
		s.all = append(s.all, span{c, from, c.At})
	}
	slices.SortFunc(s.all, func(a, b span) int {
		return cmp.Or(a.from.Compare(b.from), cmp.Compare(a.r.Kind(), b.r.Kind()), cmp.Compare(HeadOf(a.r).ID, HeadOf(b.r).ID))
	})
	ends, long := make([]time.Time, len(s.all)), make([]time.Time, len(s.all))
	for i, x := range s.all {
		ends[i] = x.to
		if x.to.Sub(x.from) > slipTouch {
			long[i] = x.to
		}
		if x.to.Equal(x.from) {
			s.points = append(s.points, i)
		}
	}
	s.ends, s.long = newPeaks(ends, probes), newPeaks(long, probes)
	return s
}

// before counts the spans that began before t.
func (s *spans) before(t time.Time) int {
	return sort.Search(len(s.all), func(i int) bool { return !s.all[i].from.Before(t) })
}

// meeting returns the first span other than that of r itself which shares more
// than slipTouch with r's, or begins with it and is of its kind, or holds it, or
// lies in it, where one of the two has no length; false where there is none.
func (s *spans) meeting(r Record, start, end time.Time) (span, bool) {
	best := len(s.all)
	see := func(i int) {
		if i >= 0 && i < best {
			best = i
		}
	}
	other := func(p peaks, to int, t time.Time) int {
		i := p.after(0, to, t)
		if i >= 0 && s.all[i].same(r) {
			i = p.after(i+1, to, t)
		}
		return i
	}
	switch length := end.Sub(start); {
	case length > slipTouch:
		see(other(s.long, s.before(end.Add(-slipTouch)), start.Add(slipTouch)))
	case length == 0:
		see(other(s.ends, s.before(start), start))
	}
	see(s.sameStart(r, start))
	for i := sort.Search(len(s.points), func(i int) bool { return s.all[s.points[i]].from.After(start) }); i < len(s.points); i++ {
		x := s.all[s.points[i]]
		if !x.same(r) {
			if x.from.Before(end) {
				see(s.points[i])
			}
			break
		}
	}
	if best == len(s.all) {
		return span{}, false
	}
	return s.all[best], true
}

// sameStart returns the index of the first other span of r's kind that begins
// at start, or -1.
func (s *spans) sameStart(r Record, start time.Time) int {
	k := r.Kind()
	i := sort.Search(len(s.all), func(i int) bool {
		c := s.all[i].from.Compare(start)
		return c > 0 || c == 0 && s.all[i].r.Kind() >= k
	})
	for ; i < len(s.all) && s.all[i].from.Equal(start) && s.all[i].r.Kind() == k; i++ {
		if !s.all[i].same(r) {
			return i
		}
	}
	return -1
}

// peaks finds, in a list of times, the next one that lies after another: each
// node of a binary tree holds the latest of its part.
type peaks struct {
	n      int
	latest []time.Time // node 1 is the root, 2i and 2i+1 are the children of i
	probes *int
}

func newPeaks(times []time.Time, probes *int) peaks {
	n := 1
	for n < len(times) {
		n *= 2
	}
	p := peaks{n, make([]time.Time, 2*n), probes}
	copy(p.latest[n:], times)
	for i := n - 1; i > 0; i-- {
		p.latest[i] = maxTime(p.latest[2*i], p.latest[2*i+1])
	}
	return p
}

// after returns the first index from..to-1 whose time lies after t, or -1.
func (p peaks) after(from, to int, t time.Time) int { return p.search(1, 0, p.n, from, to, t) }

// search looks through the node that covers low..high-1.
func (p peaks) search(node, low, high, from, to int, t time.Time) int {
	*p.probes++
	if high <= from || low >= to || !p.latest[node].After(t) {
		return -1
	}
	if high-low == 1 {
		return low
	}
	mid := (low + high) / 2
	if i := p.search(2*node, low, mid, from, to, t); i >= 0 {
		return i
	}
	return p.search(2*node+1, mid, high, from, to, t)
}
