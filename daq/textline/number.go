package textline

import (
	"math"
	"strconv"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// Numbers that stand for none, [2]: instruments send 9.9E37 for what is too
// high, its negative for what is too low, 9.91E37 for what is no number.
const (
	overflow    = 9.8e37 // and above: a little less than 9.9E37, for the last digit's sake
	notANumber  = 9.91e37
	longestUnit = 12 // characters of what may stand behind a number as its unit
)

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

// number is what one field said.
type number struct {
	signal daq.Signal
	// unit is what stood behind the number, empty for nothing.
	unit string
	// whole and decimals are the digits before and behind the point; decimals
	// is -1 where there is no point. exponent says that there was one.
	whole, decimals int
	// size is the digits before the point but for zeros that fill up, at least
	// one.
	size     int
	exponent bool
	// sign is '+', '-' or 0 for none.
	sign byte
	// padded says that the number was filled up with zeros.
	padded bool
	// isNumber is false for a word, or for nothing.
	isNumber bool
}

// parseNumber reads one field's text, without white space around it. ok is
// false when it is neither a number, with or without something behind it that
// could be a unit, nor a known word. comma says that a decimal comma is
// allowed.
func parseNumber(text string, comma bool) (n number, ok bool) {
	none := func(h daq.Health) (number, bool) {
		return number{signal: daq.Signal{Raw: math.NaN(), Health: h}}, true
	}
	if strings.Trim(text, "-") == "" { // "", "-", "----"
		return none(daq.Missing)
	}
	body, negative := unsigned(text)
	word, behind, _ := strings.Cut(body, " ")
	if h, known := words[strings.ToLower(word)]; known && (behind == "" || len(si.ParseAnyUnit(behind)) > 0) {
		if negative && h == daq.OverRange {
			h = daq.UnderRange
		}
		return none(h)
	}
	end := n.scan(body, comma)
	if n.unit = strings.TrimSpace(body[end:]); end == 0 || !unitLike(n.unit) {
		return number{}, false
	}
	x, err := strconv.ParseFloat(strings.Replace(body[:end], ",", ".", 1), 64)
	if err != nil && !math.IsInf(x, 0) {
		return number{}, false
	}
	if negative {
		x = -x
	}
	switch {
	case x == notANumber:
		return none(daq.Invalid)
	case x >= overflow:
		return none(daq.OverRange)
	case x <= -overflow:
		return none(daq.UnderRange)
	}
	n.signal.Raw, n.isNumber = x, true
	if body != text {
		n.sign = text[0]
	}
	return n, true
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

// scan finds the number with which body begins: digits with at most one point
// and at most one exponent, less than Go itself takes for a number. It
// returns its length, 0 for none.
func (n *number) scan(body string, comma bool) (end int) {
	n.whole = digits(body)
	end = n.whole
	n.decimals = -1
	if rest := body[end:]; rest != "" && (rest[0] == '.' || comma && rest[0] == ',') {
		n.decimals = digits(rest[1:])
		end += 1 + n.decimals
	}
	if n.whole+max(0, n.decimals) == 0 {
		return 0
	}
	n.padded = n.whole > 1 && body[0] == '0'
	n.size = max(1, len(strings.TrimLeft(body[:n.whole], "0")))
	if rest := body[end:]; len(rest) > 1 && (rest[0] == 'e' || rest[0] == 'E') {
		sign := 1
		if rest[1] == '-' || rest[1] == '+' {
			sign = 2
		}
		if d := digits(rest[sign:]); d > 0 {
			n.exponent = true
			end += sign + d
		}
	}
	return end
}

// digits counts the digits with which text begins.
func digits(text string) int {
	n := 0
	for n < len(text) && text[n] >= '0' && text[n] <= '9' {
		n++
	}
	return n
}

// unitLike says whether text could stand behind a number as its unit: nothing,
// or something short that begins with a letter, a percent or a degree sign and
// has a further digit only as a power.
func unitLike(text string) bool {
	if text == "" {
		return true
	}
	if len(text) > longestUnit {
		return false
	}
	first := []rune(text)[0]
	if !letter(first) && first != '%' && first != '°' {
		return false
	}
	for _, r := range text {
		if !letter(r) && !strings.ContainsRune("%°/²³23 *·.", r) {
			return false
		}
	}
	return true
}

func letter(r rune) bool {
	return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || strings.ContainsRune("\u00b5\u03bc\u03a9\u2126\u2103\u2109", r) // µ μ Ω Ω ℃ ℉
}
