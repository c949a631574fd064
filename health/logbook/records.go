package logbook

import "time"

// Head is what every record kind carries beside its own fields.
type Head struct {
	ID      string // unique among the records of one kind; made from the content where it is not given
	Rev     int    // 1 for the first revision, higher for each amendment or removal
	Removed bool   // this revision takes the record out of the log
	Note    string // free text
}

func (h *Head) head() *Head { return h }

// Record is one entry of the log: a pointer to Board, Pack, Setup, Charge,
// Ride, Check or Service.
type Record interface {
	Kind() Kind
	head() *Head
}

// HeadOf returns the common part of r, to read or to change.
func HeadOf(r Record) *Head { return r.head() }

// Board is a vehicle without its pack.
type Board struct {
	Head
	Name             string
	MassKg           Num    // ready to ride, pack in
	Tyre             string // a name: boards with the same tyre share its pressure exponent
	RefTyreKpa       Num    // gauge, cold
	ServiceEveryKm   Num
	ServiceEveryDays Num
}

// Pack is a battery: Series groups of Parallel cells each.
type Pack struct {
	Head
	Name           string
	Board          string // id of its usual board
	Chemistry      string // nmc, nca, lco, lmo, lfp
	CellModel      string
	Series         Num // whole
	Parallel       Num // whole
	CellCapacityAh Num // rated
	CellNominalV   Num
	CellFullV      Num
	LimitV         Num       // pack volts under load at which riding must stop
	CutoffV        Num       // pack volts at which protection opens
	InService      time.Time // date; zero where unknown
	CyclesBefore   Num       // equivalent full cycles before the log begins
	AsnewAh        Num       // delivered by a full cycle as new, if measured
	RetireSohPct   Num       // DefaultRetireSohPct where absent
	NeedRangeKm    Num
	RefTempC       Num // DefaultRefTempC where absent
	RefSpeedKmh    Num
	RefRiderKg     Num
	RefRoute       string
}

// What holds for a pack that does not say otherwise (the contract's defaults).
const (
	DefaultRetireSohPct = 70.0
	DefaultRefTempC     = 25.0
)

// Setup is a change of pack or board that holds from At on.
type Setup struct {
	Head
	At         time.Time
	Pack       string // one of Pack and Board is given
	Board      string
	LimitV     Num
	CutoffV    Num
	CellFullV  Num
	MassKg     Num
	Tyre       string
	RefTyreKpa Num
}

// Charge is energy put into a pack.
type Charge struct {
	Head
	Pack         string
	At           time.Time // its end
	Start        time.Time // zero where unknown
	StartRestV   Num
	EndRestV     Num
	EndRestMin   Num // rested before EndRestV was read
	ChargedAh    Num
	ChargedWh    Num
	Full         Flag   // ran until the charger finished
	HoldMin      Num    // kept on after that, for balancing
	Meter        string // a name; DefaultMeter where absent
	MeterSide    string // dc, ac (at the wall: Wh only); dc where absent
	ErrorPct     Num    // of the Ah and Wh
	AmbientC     Num
	PackC        Num
	CellSpreadMv Num // at rest
}

// DefaultMeter is the meter whose counts define a pack's capacity: its own.
const DefaultMeter = "pack"

// Ride is energy taken out of a pack: on the road, or on the bench where it
// has no distance.
type Ride struct {
	Head
	Pack           string
	Board          string
	At             time.Time // its start
	End            time.Time // zero where unknown
	DistanceKm     Num
	OdometerKm     Num // of the board, at the end
	MovingSpeedKmh Num // stops left out
	MovingMin      Num
	SpeedSdKmh     Num
	StartRestV     Num
	EndRestV       Num
	EndRestMin     Num
	MinV           Num
	PeakA          Num // battery
	DischargedAh   Num // gross where RegenAh or RegenWh is given, else net
	DischargedWh   Num
	RegenAh        Num
	RegenWh        Num
	Meter          string // DefaultMeter where absent
	ErrorPct       Num    // of the Ah and Wh
	AmbientC       Num
	PackC          Num // mean
	TyreKpa        Num
	Rider          string
	RiderKg        Num // with gear
	HeadwindKmh    Num // mean along the way, + against
	WindKmh        Num
	WindFromDeg    Num
	Shape          string // loop, out_back, one_way
	ClimbM         Num
	DescentM       Num
	Route          string
	Session        string
	Stop           string // limit, cutoff, fault, chosen
}

// Check is a measurement at rest or with one pulse.
type Check struct {
	Head
	Pack           string
	At             time.Time
	Method         string // dc, ac; dc where absent
	ResistanceMohm Num    // or else the pulse below
	RestV          Num
	LoadV          Num
	LoadA          Num
	BaseA          Num // current before the pulse; 0 where absent
	PulseS         Num
	SocPct         Num
	PackC          Num
	CellSpreadMv   Num
	GroupV         []float64 // rest volts of each series group; nil where absent
}

// Service is something done to a pack or a board, or something that happened to it.
type Service struct {
	Head
	Pack   string // one of Pack and Board is given
	Board  string
	At     time.Time
	What   string // the "kind" field: inspection, repair, cells_replaced, ...
	Until  time.Time
	Passed Flag
}

// Kind of each record.
func (*Board) Kind() Kind   { return KindBoard }
func (*Pack) Kind() Kind    { return KindPack }
func (*Setup) Kind() Kind   { return KindSetup }
func (*Charge) Kind() Kind  { return KindCharge }
func (*Ride) Kind() Kind    { return KindRide }
func (*Check) Kind() Kind   { return KindCheck }
func (*Service) Kind() Kind { return KindService }

// New returns an empty record of kind k at revision 1. It panics on a value
// that is none of the Kind constants.
func New(k Kind) Record {
	h := Head{Rev: 1}
	switch k {
	case KindBoard:
		return &Board{Head: h}
	case KindPack:
		return &Pack{Head: h}
	case KindSetup:
		return &Setup{Head: h}
	case KindCharge:
		return &Charge{Head: h}
	case KindRide:
		return &Ride{Head: h}
	case KindCheck:
		return &Check{Head: h}
	case KindService:
		return &Service{Head: h}
	}
	panic("logbook: no such record kind: " + k.String())
}

// PackOf returns the id of the pack that r belongs to ("" for a board, and for
// a setup or service of a board).
func PackOf(r Record) string {
	switch r := r.(type) {
	case *Pack:
		return r.ID
	case *Setup:
		return r.Pack
	case *Charge:
		return r.Pack
	case *Ride:
		return r.Pack
	case *Check:
		return r.Pack
	case *Service:
		return r.Pack
	}
	return ""
}

// BoardOf returns the id of the board that r names, or "".
func BoardOf(r Record) string {
	switch r := r.(type) {
	case *Board:
		return r.ID
	case *Pack:
		return r.Board
	case *Setup:
		return r.Board
	case *Ride:
		return r.Board
	case *Service:
		return r.Board
	}
	return ""
}

// AtOf returns the time under which r is filed: the end of a charge, the start
// of a ride, the time of a check, service or setup, and the zero time for a
// board or a pack.
func AtOf(r Record) time.Time {
	switch r := r.(type) {
	case *Setup:
		return r.At
	case *Charge:
		return r.At
	case *Ride:
		return r.At
	case *Check:
		return r.At
	case *Service:
		return r.At
	}
	return time.Time{}
}

// EndOf returns the time by which r had ended: that of AtOf, except for a
// ride: its End, else its start and moving time, else its start.
func EndOf(r Record) time.Time {
	ride, ok := r.(*Ride)
	if !ok {
		return AtOf(r)
	}
	switch {
	case !ride.End.IsZero():
		return ride.End
	case ride.MovingMin.OK:
		return ride.At.Add(time.Duration(ride.MovingMin.V * float64(time.Minute)))
	}
	return ride.At
}
