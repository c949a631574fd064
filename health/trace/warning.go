package trace

// Warning is something about a time series that a rider should know: what was
// left out, assumed or found odd. Code is in snake_case and stable.
type Warning struct {
	Code string `json:"code"`
	Text string `json:"text"`
}
