package verdict

import (
	"fmt"
	"strings"

	"holdbench/analysis/si"
)

// IsRelative reports whether a limit's value is written in per cent of the
// test pressure: "2 %", "0.2 %/min".
func IsRelative(text string) bool { return strings.Contains(text, "%") }

// Relative reads a limit's value in per cent of the test pressure (Pa): for a
// pressure or a loss "95 %", for a rate "0.2 %/min". It returns the value in
// the quantity's SI unit and the text by which pages show it, which names the
// value too. The error says what was found and what is wanted: for other
// quantities per cent means nothing, and without a test pressure it has no
// value.
func Relative(share string, row QuantityRow, testPressure float64) (value float64, text string, err error) {
	example := map[si.Quantity]string{si.Pressure: "95 %", si.PressureChange: "2 %", si.PressureRate: "0.2 %/min"}[row.Quantity]
	switch {
	case example == "":
		_, err := si.Parse(share, row.Quantity)
		return 0, "", err
	case !(testPressure > 0):
		return 0, "", &si.Error{Found: `"` + share + `"`, Want: "a test pressure of which it is a share"}
	}
	// A share of the test pressure is what so many pascals are of 100 Pa.
	x, err := si.Parse(strings.Replace(share, "%", "Pa", 1), row.Quantity)
	if err != nil {
		return 0, "", &si.Error{Found: `"` + share + `"`, Want: fmt.Sprintf("per cent of the test pressure, e.g. %q", example)}
	}
	value = x / 100 * testPressure
	return value, strings.TrimSpace(share) + " of the test pressure, " + written(value, value/10, row.Quantity), nil
}
