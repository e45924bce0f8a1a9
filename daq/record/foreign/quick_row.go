package foreign

import "math"

// quickDigits is up to how many figures a number is read without cutDecimal:
// a float64 holds them all, so that one division rounds correctly.
//
// Source: [3].
const quickDigits = 15

// quick reads a row that is as rows should be: as many cells as usual, plain
// numbers or nothing in those that count, no quotes, no blanks. It returns the
// row's length with its line end; 0 where slow must look at it. b ends with a
// line feed.
func (t *rows) quick(b []byte) int {
	i, last := 0, len(t.plan)-1
	var ns int64
	var cell, date []byte
	for c, what := range t.plan {
		switch {
		case what >= firstValue:
			n := t.quickValue(b[i:], what-firstValue)
			if n < 0 {
				return 0
			}
			i += n
		case what == aTime && t.clock.kind == byNumber:
			d, n := cutDecimal(b[i:], t.mark)
			if n == 0 {
				return 0
			}
			var ok bool
			if ns, ok = t.clock.nanoseconds(d, b[i:i+n]); !ok {
				return 0
			}
			i += n
		default:
			n := t.cellLength(b[i:])
			if n < 0 {
				return 0
			}
			switch what {
			case aTime:
				cell = b[i : i+n]
			case aDate:
				date = b[i : i+n]
			}
			i += n
		}
		if c < last {
			if b[i] != t.delimiter {
				return 0
			}
			i++
		}
	}
	if b[i] == '\r' {
		i++
	}
	if b[i] != '\n' {
		return 0
	}
	if t.clock.kind != byNumber {
		var ok bool
		if ns, ok = t.clock.read(cell, date); !ok {
			return 0
		}
	}
	t.accept(ns)
	return i + 1
}

// quickValue reads a figure of value k from the front of b into the row at
// hand. It returns its length; -1 where slow must look at it.
func (t *rows) quickValue(b []byte, k int) int {
	i := 0
	if b[0] == '-' {
		i = 1
	}
	var digits uint64
	start, fraction := i, 0
	for b[i]-'0' <= 9 {
		digits = digits*10 + uint64(b[i]-'0')
		i++
	}
	count := i - start
	if b[i] == t.mark {
		i++
		start = i
		for b[i]-'0' <= 9 {
			digits = digits*10 + uint64(b[i]-'0')
			i++
		}
		fraction = i - start
		count += fraction
	}
	end := b[i]
	v := &t.values[k]
	if count-1 < quickDigits && (end == t.delimiter || end == '\n' || end == '\r') && count > 0 {
		x := float64(digits) / powers[fraction]
		if b[0] == '-' {
			x = -x
		}
		t.column[k][t.n] = float64(x*v.factor) + v.offset
		return i
	}
	return t.otherValue(b, k)
}

// otherValue is quickValue for an empty cell, and for numbers of many figures
// or with an exponent.
func (t *rows) otherValue(b []byte, k int) int {
	if end := b[0]; end == t.delimiter || end == '\n' || end == '\r' {
		t.column[k][t.n] = math.NaN()
		return 0
	}
	d, n := cutDecimal(b, t.mark)
	if n == 0 {
		return -1
	}
	x := d.float(b[:n], t.mark)
	if !(math.Abs(x) < overflow) {
		return -1
	}
	t.column[k][t.n] = float64(x*t.values[k].factor) + t.values[k].offset
	return n
}

// cellLength is the length of a cell without quotes; -1 where there are some.
func (t *rows) cellLength(b []byte) int {
	for i, c := range b {
		switch c {
		case t.delimiter, '\r', '\n':
			return i
		case '"':
			return -1
		}
	}
	return -1
}
