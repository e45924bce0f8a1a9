package record

import (
	"math"
	"strconv"
)

// appendNumber appends x as the shortest decimal that reads back to the same
// bits, without an exponent where a person would not write one. NaN appends
// nothing: an empty cell. Infinities are INF and -INF, as the Frictionless
// Table Schema has them.
func appendNumber(dst []byte, x float64) []byte {
	switch {
	case math.IsNaN(x):
		return dst
	case math.IsInf(x, 1):
		return append(dst, "INF"...)
	case math.IsInf(x, -1):
		return append(dst, "-INF"...)
	}
	format := byte('f')
	if size := math.Abs(x); size != 0 && (size < 1e-6 || size >= 1e21) {
		format = 'e'
	}
	return strconv.AppendFloat(dst, x, format, -1, 64)
}

// parseNumber reads a cell: NaN when it is empty, a number, or an infinity.
// Spellings that only programs use (hexadecimal, NaN, underscores) are
// refused: in a recording they are damage.
func parseNumber(cell []byte) (float64, bool) {
	if len(cell) == 0 {
		return math.NaN(), true
	}
	for _, c := range cell {
		if !isDigit(c) && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return parseInfinity(string(cell))
		}
	}
	x, err := strconv.ParseFloat(string(cell), 64)
	return x, err == nil
}

func parseInfinity(cell string) (float64, bool) {
	switch cell {
	case "INF":
		return math.Inf(1), true
	case "-INF":
		return math.Inf(-1), true
	}
	return 0, false
}
