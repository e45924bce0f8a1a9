package textline

import (
	"cmp"
	"fmt"
	"math"
)

// How a line must look like those before it.
const (
	// again is how many lines of another look in a row are believed.
	again = 3
	// firm is how many lines of one look in a row make it that of the
	// instrument.
	firm = 10
	// jump is the relative change, and least the number of last digits of the
	// larger number, from which a number whose length changes with it is
	// doubted: 112.3 that becomes 12.3 may have lost a character.
	jump  = 0.8
	least = 100
)

// memory is what the lines so far looked like. It doubts a line
//
//   - of another number of columns,
//   - in which a number that is filled up with zeros to a fixed length has
//     another length, or one that always had its sign, also as "+", has none,
//   - in which a number with a decimal point has more or fewer digits before
//     it than the last time and is, beyond that, far from it,
//
// and believes it when it is the third in a row that looks so: the instrument
// was set otherwise, or the value did jump. A number that passes from 99.99 to
// 100.00 is not doubted, so that no reading is lost, or chosen, by what it
// is. The zero value remembers nothing.
type memory struct {
	columns habit
	fields  []fieldMemory
}

// habit is a number that stays the same from line to line.
type habit struct {
	usual, other int
	others       int // how many of other in a row
	known        bool
}

// fits says whether x is what is usual, or has become so.
func (h *habit) fits(x int) bool {
	switch {
	case !h.known || x == h.usual:
		h.usual, h.known, h.others = x, true, 0
		return true
	case h.others > 0 && h.other == x:
		h.others++
	default:
		h.other, h.others = x, 1
	}
	if h.others < again {
		return false
	}
	h.usual, h.others = x, 0
	return true
}

// fieldMemory is what is remembered of one field.
type fieldMemory struct {
	digits habit
	run    int  // lines with the usual number of digits in a row
	padded bool // one of them was filled up with zeros
	signs  int  // numbers with a sign in a row
	plus   bool // one of them had a plus
	bare   int  // numbers without one in a row, when all before had one

	last    number // the last one believed
	known   bool
	doubted number // the last one that was not
	doubts  int    // how many in a row that go together
}

// doubt says why a line is not to be believed yet; empty when it is, and then
// it is remembered.
func (m *memory) doubt(t taken) string {
	if len(m.fields) != len(t.values) {
		m.fields = make([]fieldMemory, len(t.values))
	}
	why := ""
	if was := m.columns.usual; !m.columns.fits(t.width) {
		why = fmt.Sprintf("%d columns instead of %d", t.width, was)
	}
	for k := range m.fields {
		f, n := &m.fields[k], t.values[k]
		if !n.isNumber {
			continue
		}
		length, sign, leap := f.length(n), f.sign(n), f.leap(n)
		why = cmp.Or(why, length, sign, leap)
	}
	if why != "" {
		return why
	}
	for k, n := range t.values {
		if n.isNumber {
			m.fields[k].last, m.fields[k].known = n, true
		}
	}
	return ""
}

// length doubts a number of another length, where the instrument fills its
// numbers up.
func (f *fieldMemory) length(n number) string {
	d := n.whole + max(0, n.decimals)
	if f.run >= firm && f.padded {
		if n.sign == '-' && d+1 == f.digits.usual || f.digits.fits(d) {
			return ""
		}
		return fmt.Sprintf("a number of %d digits, where all have %d", d, f.digits.usual)
	}
	if n.sign == '-' {
		return "" // its sign may stand in the place of a digit
	}
	if d != f.digits.usual {
		f.digits, f.run, f.padded = habit{usual: d, known: true}, 0, false
	}
	f.run++
	f.padded = f.padded || n.padded
	return ""
}

// sign doubts a number without a sign, where the instrument writes "+" as well.
func (f *fieldMemory) sign(n number) string {
	switch {
	case n.sign != 0:
		f.signs, f.plus, f.bare = f.signs+1, f.plus || n.sign == '+', 0
		return ""
	case f.signs < firm || !f.plus || n.signal.Raw == 0:
		if n.signal.Raw != 0 {
			f.signs, f.plus = 0, false
		}
		return ""
	}
	if f.bare++; f.bare >= again {
		f.signs, f.plus = 0, false
		return ""
	}
	return fmt.Sprintf("%g without a sign, where all have one", n.signal.Raw)
}

// leap doubts a number that changed its length and its value at once.
func (f *fieldMemory) leap(n number) string {
	if !f.known || !leaps(f.last, n) {
		f.doubts = 0
		return ""
	}
	if f.doubts > 0 && leaps(f.doubted, n) {
		f.doubts = 0
	}
	f.doubted = n
	f.doubts++
	if f.doubts >= again {
		return ""
	}
	return fmt.Sprintf("%g after %g, of another length: a character may be lost", n.signal.Raw, f.last.signal.Raw)
}

func leaps(from, to number) bool {
	if from.decimals != to.decimals || to.decimals < 0 || to.exponent || from.exponent || from.size == to.size {
		return false
	}
	a, b := from.signal.Raw, to.signal.Raw
	larger := max(math.Abs(a), math.Abs(b))
	return math.Abs(a-b) > jump*larger && larger*math.Pow10(to.decimals) >= least
}
