package si

import (
	"math"
	"strconv"
	"strings"
)

// Format writes a number with that many decimals (negative: none). What
// rounds to zero has no sign; NaN is "–" and an infinity "∞" or "-∞".
func Format(x float64, decimals int) string {
	switch {
	case math.IsNaN(x):
		return "–"
	case math.IsInf(x, 1):
		return "∞"
	case math.IsInf(x, -1):
		return "-∞"
	}
	text := strconv.FormatFloat(x, 'f', max(decimals, 0), 64)
	if strings.HasPrefix(text, "-") && !strings.ContainsAny(text, "123456789") {
		return text[1:]
	}
	return text
}

// The decimals of a figure whose uncertainty says nothing, and the most that
// are ever shown.
const (
	plainDecimals = 2
	mostDecimals  = 12
)

// Decimals returns with how many decimals a figure is written so that its
// uncertainty u, in the same unit, shows two significant digits: 3 for
// 0.0123, 2 for 0.0996 (0.10), 0 from 9.95 upwards. An u that is not finite
// or not above 0 gives 2.
//
// Source: [2] 7.2.6.
func Decimals(u float64) int {
	if !(u > 0) || math.IsInf(u, 1) {
		return plainDecimals
	}
	// The exponent after rounding to two digits: 0.0996 is 1.0e-01.
	_, exponent, _ := strings.Cut(strconv.FormatFloat(u, 'e', 1, 64), "e")
	e, err := strconv.Atoi(exponent)
	if err != nil {
		return plainDecimals
	}
	return min(max(1-e, 0), mostDecimals)
}
