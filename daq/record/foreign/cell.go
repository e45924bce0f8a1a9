package foreign

import (
	"bytes"
	"strings"
)

// splitCells appends the cells of a record to dst: without blanks around them
// and without the quotes of quoted cells (a quote in such a cell stays double).
//
// Source: [1] section 2, with blanks around quotes forgiven.
func splitCells(dst [][]byte, text []byte, delimiter byte) [][]byte {
	for {
		cell, rest, more := cutCell(text, delimiter)
		dst = append(dst, cell)
		if !more {
			return dst
		}
		text = rest
	}
}

func cutCell(text []byte, delimiter byte) (cell, rest []byte, more bool) {
	body := bytes.TrimLeft(text, " ")
	if len(body) > 0 && body[0] == '"' {
		if end := quoteEnd(body); end > 0 {
			after := body[end+1:]
			if cut := bytes.IndexByte(after, delimiter); cut >= 0 {
				return trim(body[1:end]), after[cut+1:], true
			}
			return trim(body[1:end]), nil, false
		}
	}
	if cut := bytes.IndexByte(text, delimiter); cut >= 0 {
		return trim(text[:cut]), text[cut+1:], true
	}
	return trim(text), nil, false
}

// quoteEnd is the place of the quote that closes the one at 0; 0 if none does.
func quoteEnd(text []byte) int {
	for i := 1; i < len(text); i++ {
		if text[i] != '"' {
			continue
		}
		if i+1 < len(text) && text[i+1] == '"' {
			i++
			continue
		}
		return i
	}
	return 0
}

// trim takes blanks off both ends, no-break spaces too, in UTF-8 and in one
// byte.
func trim(cell []byte) []byte {
	for {
		n := len(cell)
		cell = bytes.TrimPrefix(bytes.TrimSpace(cell), []byte{0xA0})
		if last := len(cell) - 1; last >= 0 && cell[last] == 0xA0 && (last == 0 || cell[last-1] < 0x80) {
			cell = cell[:last]
		}
		if len(cell) == n {
			return cell
		}
	}
}

// noReadingWords stand in cells without a reading, in lower case. Runs of one
// of the marks in noReadingMarks do as well.
var noReadingWords = map[string]bool{
	"ol": true, "+ol": true, "-ol": true, "o.l": true, "o.l.": true, "0l": true, "ovl": true, "ovld": true, "ovrflw": true,
	"over": true, "+over": true, "-over": true, "under": true, "overload": true, "overflow": true, "underflow": true,
	"overrange": true, "underrange": true, "open": true, "burnout": true,
	"nan": true, "+nan": true, "-nan": true, "inf": true, "+inf": true, "-inf": true,
	"infinity": true, "-infinity": true, "1.#qnan": true, "-1.#ind": true, "1.#inf": true, "-1.#inf": true,
	"na": true, "n/a": true, "#n/a": true, "#nv": true, "#value!": true, "#wert!": true, "#ref!": true, "#num!": true, "#div/0!": true,
	"null": true, "nil": true, "none": true, "missing": true, "invalid": true, "bad": true,
	"err": true, "error": true, "fault": true, "fehler": true, "no data": true, "nodata": true,
}

const noReadingMarks = "-*#?.x_~="

// noReading reports whether a trimmed cell says that there is no reading; own
// are the logger's own words for it, in lower case.
func noReading(cell []byte, own map[string]bool) bool {
	if len(cell) == 0 {
		return true
	}
	if strings.IndexByte(noReadingMarks, cell[0]) >= 0 && len(bytes.Trim(cell, string(cell[:1]))) == 0 {
		return true
	}
	if len(cell) > 40 {
		return false
	}
	var buffer [40]byte
	low := buffer[:0]
	for _, c := range cell {
		if 'A' <= c && c <= 'Z' {
			c += 'a' - 'A'
		}
		low = append(low, c)
	}
	return noReadingWords[string(low)] || own[string(low)]
}

// class is what a cell looks like, whatever the decimal mark.
type class uint8

const (
	isText    class = iota
	isBlank         // no reading
	isNumber        // perhaps with thousands marks
	isDaytime       // 12:30:00
	isDay           // a date alone
	isStamp         // date and time of day
	classes
)

// classify tells what a trimmed cell looks like.
func classify(cell []byte, own map[string]bool) class {
	switch {
	case plainNumber(cell):
		return isNumber
	case noReading(cell, own):
		return isBlank
	case !bytes.ContainsAny(cell, "0123456789"):
		return isText
	case looksNumeric(cell):
		return isNumber
	}
	if _, ok := cutDaytime(cell); ok {
		return isDaytime
	}
	d, rest, ok := cutDate(cell)
	switch {
	case !ok || !d.plausible():
		return isText
	case len(trim(rest)) == 0:
		return isDay
	}
	if _, ok := cutDaytime(daytimeOf(rest)); ok {
		return isStamp
	}
	return isText
}

// plainNumber reports whether a cell has figures alone, but for a sign and one
// mark.
func plainNumber(cell []byte) bool {
	digits, marks := 0, 0
	for _, c := range plainSign(cell) {
		switch {
		case isDigit(c):
			digits++
		case c == '.' || c == ',':
			marks++
		default:
			return false
		}
	}
	return digits > 0 && marks <= 1
}

// looksNumeric reports whether a cell is made like a number, perhaps with
// thousands marks, but not like a date.
func looksNumeric(cell []byte) bool {
	if d, rest, ok := cutDate(cell); ok && len(rest) == 0 && d.plausible() {
		return false
	}
	mantissa := plainSign(cell)
	if e := bytes.IndexAny(mantissa, "eE"); e > 0 {
		exponent := mantissa[e+1:]
		if len(exponent) > 0 && (exponent[0] == '-' || exponent[0] == '+') {
			exponent = exponent[1:]
		}
		if !allDigits(exponent) {
			return false
		}
		mantissa = mantissa[:e]
	}
	digits := 0
	for _, c := range mantissa {
		switch {
		case isDigit(c):
			digits++
		case c == '.' || c == ',' || thousandsMark(c):
		default:
			return false
		}
	}
	return digits > 0
}

// thousandsMark reports whether a byte belongs to a blank or an apostrophe
// that parts groups of digits (in UTF-8: U+00A0, U+2009, U+202F, U+2019).
func thousandsMark(c byte) bool {
	return c == ' ' || c == '\'' || c == 0xA0 || c == 0xC2 || c == 0xE2 || c == 0x80 || c == 0x89 || c == 0xAF || c == 0x99
}

var minusSign = []byte("\u2212")

// plainSign takes the sign off, the minus of typography too.
func plainSign(cell []byte) []byte {
	switch {
	case len(cell) > 0 && (cell[0] == '-' || cell[0] == '+'):
		return cell[1:]
	case bytes.HasPrefix(cell, minusSign):
		return cell[len(minusSign):]
	}
	return cell
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func allDigits(text []byte) bool {
	for _, c := range text {
		if !isDigit(c) {
			return false
		}
	}
	return len(text) > 0
}
