// Package textline knows instruments that speak lines of text, one set of
// readings a line, columns parted by a separator.
//
// A line ends with CR, LF or CRLF. What is not a whole line of numbers, or of
// an instrument's words for "no number", costs that line and nothing else: it
// is counted and never becomes a reading. The line that was under way when
// the port was opened is never used, because its beginning may be missing.
package textline

import (
	"math"
	"strconv"
	"strings"

	"holdbench/daq"
)

// overflow is the magnitude from which a number stands for "overload":
// instruments send +9.9E37 for it, as IEEE 488.2 leaves open and common
// practice has it (P).
const overflow = 9.8e37

// words that instruments send where there is no number, in lower case and
// without a sign (P: common practice, no standard).
var words = map[string]daq.Health{
	"ol": daq.OverRange, "o.l": daq.OverRange, "0l": daq.OverRange, "0.l": daq.OverRange, "overload": daq.OverRange,
	"ovld": daq.OverRange, "over": daq.OverRange, "ovf": daq.OverRange, "overflow": daq.OverRange,
	"inf": daq.OverRange, "infinity": daq.OverRange,
	"ul": daq.UnderRange, "under": daq.UnderRange, "underflow": daq.UnderRange,
	"nan": daq.Invalid, "err": daq.Invalid, "error": daq.Invalid, "fail": daq.Invalid,
	"open": daq.Invalid, "n/a": daq.Missing, "null": daq.Missing,
}

// columns cuts a line, its end already taken off, into columns without the
// white space around them. Where space is the separator, any run of white
// space parts two columns.
func columns(line, separator string) []string {
	if separator == " " {
		return strings.Fields(line)
	}
	cut := strings.Split(line, separator)
	for i := range cut {
		cut[i] = strings.TrimSpace(cut[i])
	}
	return cut
}

// signal reads one column. ok is false when the text is neither a number nor
// a known word; the line is then not to be trusted. comma says that a decimal
// comma is allowed.
func signal(text string, comma bool) (s daq.Signal, ok bool) {
	none := func(h daq.Health) (daq.Signal, bool) { return daq.Signal{Raw: math.NaN(), Health: h}, true }
	if strings.Trim(text, "-") == "" { // "", "-", "----"
		return none(daq.Missing)
	}
	body, negative := unsigned(text)
	if h, known := words[strings.ToLower(body)]; known {
		if negative && h == daq.OverRange {
			h = daq.UnderRange
		}
		return none(h)
	}
	if comma {
		body = strings.Replace(body, ",", ".", 1)
	}
	if !decimal(body) {
		return daq.Signal{}, false
	}
	x, err := strconv.ParseFloat(body, 64)
	if err != nil && !math.IsInf(x, 0) {
		return daq.Signal{}, false
	}
	if negative {
		x = -x
	}
	switch {
	case x >= overflow:
		return none(daq.OverRange)
	case x <= -overflow:
		return none(daq.UnderRange)
	}
	return daq.Signal{Raw: x}, true
}

// unsigned takes off a sign and the blanks that may follow it.
func unsigned(text string) (body string, negative bool) {
	switch text[0] {
	case '-':
		return strings.TrimLeft(text[1:], " "), true
	case '+':
		return strings.TrimLeft(text[1:], " "), false
	}
	return text, false
}

// decimal says whether text is digits with at most one point and at most one
// exponent: less than Go itself takes for a number.
func decimal(text string) bool {
	mantissa, exponent, has := strings.Cut(strings.ToLower(text), "e")
	whole, fraction, _ := strings.Cut(mantissa, ".")
	if !digits(whole+fraction) || whole+fraction == "" {
		return false
	}
	if !has {
		return true
	}
	if exponent != "" && (exponent[0] == '-' || exponent[0] == '+') {
		exponent = exponent[1:]
	}
	return exponent != "" && digits(exponent)
}

func digits(text string) bool { return strings.Trim(text, "0123456789") == "" }
