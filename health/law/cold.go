package law

// warmGivesToC is the temperature beyond which warmth gives no more capacity,
// °C. From memory.
const warmGivesToC = 40.0

// ColdShare is the share of the capacity that a pack of tempC leaves, beside
// what its resistance takes; perC is what a kelvin about 25 °C takes. Cold takes
// more the deeper it is: the slope grows in a straight line from none at 40 °C,
// so that frost takes some fifty kelvins' worth and not twenty-five. A straight
// line that is right there takes two to three times too much between 10 and
// 20 °C. From memory.
func ColdShare(perC, tempC float64) float64 {
	const up = warmGivesToC - ReferenceResistanceC
	below := max(warmGivesToC-tempC, 0)
	return min(max(1-perC*(below*below-up*up)/(2*up), .2), 1.1)
}

// ColdSlope is by how much of the capacity ColdShare changes for a kelvin, never
// below 0.
func ColdSlope(perC, tempC float64) float64 {
	return perC * max(warmGivesToC-tempC, 0) / (warmGivesToC - ReferenceResistanceC)
}
