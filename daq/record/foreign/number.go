package foreign

import (
	"bytes"
	"math"
	"strconv"
)

// powers of ten that are exact in binary.
var powers = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// overflow is the magnitude from which an instrument means "no number".
//
// Source: [4].
const overflow = 9.9e37

// decimal is a number as written: ±digits·10^exponent. more says that there
// are more than 19 digits, so that digits is not the whole.
type decimal struct {
	digits   uint64
	exponent int
	negative bool
	more     bool
}

// cutDecimal reads a number with the decimal mark from the front of b, which
// must not end within it. end is the place after it, 0 where there is none.
func cutDecimal(b []byte, mark byte) (d decimal, end int) {
	i := 0
	if b[0] == '-' || b[0] == '+' {
		d.negative = b[0] == '-'
		i = 1
	}
	start := i
	for i < len(b) && b[i]-'0' <= 9 {
		d.digits = d.digits*10 + uint64(b[i]-'0')
		i++
	}
	count := i - start
	if i < len(b) && b[i] == mark {
		i++
		point := i
		for i < len(b) && b[i]-'0' <= 9 {
			d.digits = d.digits*10 + uint64(b[i]-'0')
			i++
		}
		d.exponent = point - i
		count += i - point
	}
	if count == 0 {
		return d, 0
	}
	d.more = count > 19
	if i < len(b) && b[i]|0x20 == 'e' {
		n, size := cutExponent(b[i+1:])
		if size == 0 {
			return d, 0
		}
		d.exponent += n
		i += 1 + size
	}
	return d, i
}

// cutExponent reads what follows the e; size 0 where there is no number.
func cutExponent(b []byte) (n, size int) {
	i := 0
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		i = 1
	}
	start := i
	for i < len(b) && b[i]-'0' <= 9 {
		if n < 10000 {
			n = n*10 + int(b[i]-'0')
		}
		i++
	}
	if i == start {
		return 0, 0
	}
	if b[0] == '-' {
		n = -n
	}
	return n, i
}

// float is the float64 nearest to the number; text is how it is written.
//
// Source: [3] for the two cases without strconv.
func (d decimal) float(text []byte, mark byte) float64 {
	if d.digits > 1<<53 || d.more || d.exponent < -22 || d.exponent > 22 {
		return slowFloat(text, mark)
	}
	x := float64(d.digits)
	if d.exponent < 0 {
		x /= powers[-d.exponent]
	} else if d.exponent > 0 {
		x *= powers[d.exponent]
	}
	if d.negative {
		return -x
	}
	return x
}

// slowFloat is for numbers of many digits or with large exponents. What is
// beyond a float64 is infinite.
func slowFloat(text []byte, mark byte) float64 {
	var buffer [32]byte
	plain := append(buffer[:0], text...)
	if i := bytes.IndexByte(plain, mark); i >= 0 {
		plain[i] = '.'
	}
	x, err := strconv.ParseFloat(string(plain), 64)
	if err != nil && !math.IsInf(x, 0) {
		return math.NaN()
	}
	return x
}

// parseNumber reads a trimmed cell that is a number as a whole. What an
// instrument writes for "no number" is NaN.
func parseNumber(cell []byte, mark byte) (float64, bool) {
	if bytes.HasPrefix(cell, minusSign) {
		cell = append([]byte{'-'}, cell[len(minusSign):]...)
	}
	if len(cell) == 0 {
		return math.NaN(), false
	}
	d, end := cutDecimal(cell, mark)
	if end == 0 || end != len(cell) {
		return math.NaN(), false
	}
	x := d.float(cell, mark)
	if !(math.Abs(x) < overflow) {
		return math.NaN(), true
	}
	return x, true
}
