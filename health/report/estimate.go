package report

import (
	"encoding/json"
	"math"
	"time"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/units"
)

// Confidence is the share of the belief between the bounds of every estimate.
const Confidence = 0.9

// Estimate is the middle of a belief (its median) with its two-sided 90 %
// bounds. A nil *Estimate is a figure that cannot be known yet; a nil bound is
// one that the data do not give.
type Estimate struct {
	Value      float64  `json:"value"`
	Low        *float64 `json:"low"`
	High       *float64 `json:"high"`
	Confidence float64  `json:"confidence"`
}

// Bounds are the bounds of the estimate, -Inf and +Inf where the data do not
// give that one.
func (e *Estimate) Bounds() (low, high float64) {
	low, high = math.Inf(-1), math.Inf(1)
	if e.Low != nil {
		low = *e.Low
	}
	if e.High != nil {
		high = *e.High
	}
	return low, high
}

// Span are the bounds of the estimate, its value in place of one that the data
// do not give: what a picture can hold.
func (e *Estimate) Span() (low, high float64) {
	low, high = e.Value, e.Value
	if e.Low != nil {
		low = *e.Low
	}
	if e.High != nil {
		high = *e.High
	}
	return low, high
}

// Holds reports whether v lies within the bounds.
func (e *Estimate) Holds(v float64) bool {
	low, high := e.Bounds()
	return low <= v && v <= high
}

// Rounded writes the estimate, which is in the canonical unit u, for people in
// the unit of sys; one that is nil is units.Unknown.
func (e *Estimate) Rounded(u units.Unit, sys units.System) units.Rounded {
	if e == nil {
		return units.Rounded{Value: units.Unknown}
	}
	low, high := e.Bounds()
	return units.Round(e.Value, low, high, u, sys)
}

// In writes the estimate in one line, as Rounded does: "15.3 km (14.8 to 15.9)".
func (e *Estimate) In(u units.Unit, sys units.System) string { return e.Rounded(u, sys).String() }

// Meets says whether an amount that is needed, in the estimate's unit, is there:
// "met", "not met", which is missed, or "in doubt"; "" where e is nil.
func (e *Estimate) Meets(need float64) (words string, missed bool) {
	if e == nil {
		return "", false
	}
	switch low, high := e.Bounds(); {
	case high < need:
		return "not met", true
	case low >= need:
		return "met", false
	}
	return "in doubt", false
}

// DateEstimate is an estimate of a calendar date.
type DateEstimate struct {
	Value      Date    `json:"value"`
	Low        *Date   `json:"low"`
	High       *Date   `json:"high"`
	Confidence float64 `json:"confidence"`
}

// Rounded writes the estimate for people, as fine as its bounds support; one
// that is nil is units.Unknown.
func (e *DateEstimate) Rounded() units.Rounded {
	if e == nil {
		return units.RoundDate(time.Time{}, time.Time{}, time.Time{})
	}
	return units.RoundDate(e.Value.Time, e.Low.orZero(), e.High.orZero())
}

// Date is a calendar date, YYYY-MM-DD in JSON.
type Date struct{ time.Time }

func (d *Date) orZero() time.Time {
	if d == nil {
		return time.Time{}
	}
	return d.Time
}

// MarshalJSON writes YYYY-MM-DD.
func (d Date) MarshalJSON() ([]byte, error) { return json.Marshal(d.String()) }

// String returns YYYY-MM-DD.
func (d Date) String() string { return d.Format(logbook.DateLayout) }

// Warning says what stands in the way of a figure or casts doubt on it.
type Warning struct {
	Code string `json:"code"` // snake_case
	Text string `json:"text"`

	words phrase // where the text holds quantities
}

// warning is one whose text holds quantities.
func warning(code string, words phrase) Warning {
	return Warning{Code: code, Text: words.in(units.Metric), words: words}
}

// TextIn is the text in the units of sys.
func (w Warning) TextIn(sys units.System) string { return w.phrase().in(sys) }

func (w Warning) phrase() phrase {
	if w.words == nil {
		return say(w.Text)
	}
	return w.words
}

// estimate reads an estimate off draws. It is nil where the middle is not a
// finite number; a bound that is not finite is nil.
func estimate(d model.Draws) *Estimate {
	s := d.Sort()
	mid := s.Quantile(.5)
	if math.IsNaN(mid) || math.IsInf(mid, 0) {
		return nil
	}
	return &Estimate{Value: tidy(mid), Low: bound(s.Quantile((1 - Confidence) / 2)), High: bound(s.Quantile((1 + Confidence) / 2)), Confidence: Confidence}
}

// meanEstimate is an estimate whose value is the mean of the draws, so that
// the values of parts add up to the value of the whole.
func meanEstimate(d model.Draws) *Estimate {
	e := estimate(d)
	if e == nil {
		return nil
	}
	sum := 0.0
	for _, v := range d {
		sum += v
	}
	e.Value = sum / float64(len(d))
	return e
}

func bound(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = tidy(v)
	return &v
}

// tidy drops what lies below the ninth figure, where processors differ.
func tidy(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	scale := math.Pow(10, 8-math.Floor(math.Log10(math.Abs(v))))
	if math.IsInf(scale, 0) || scale == 0 {
		return v
	}
	return math.Round(v*scale)/scale + 0
}

// when known gives the estimate, else nil.
func when(known bool, d model.Draws) *Estimate {
	if !known {
		return nil
	}
	return estimate(d)
}

// dateEstimate reads an estimate of a date off draws of Unix days. A date
// after the year 2199 is none.
func dateEstimate(days model.Draws) *DateEstimate {
	s := days.Sort()
	at := func(q float64) *Date {
		v := s.Quantile(q)
		if math.IsNaN(v) || v > 84000 || v < -200000 {
			return nil
		}
		return &Date{time.Unix(int64(math.Floor(v))*86400, 0).UTC()}
	}
	mid := at(.5)
	if mid == nil {
		return nil
	}
	return &DateEstimate{Value: *mid, Low: at((1 - Confidence) / 2), High: at((1 + Confidence) / 2), Confidence: Confidence}
}
