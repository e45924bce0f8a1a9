package foreign

import (
	"bytes"

	"holdbench/daq/strict"
)

// marks counts, over the cells of numbers in the head, what the points and the
// commas in them can be.
type marks struct {
	comma, point               int // can only be a decimal mark
	groupedComma, groupedPoint int // could be a thousands mark as well
	example                    string
	line                       int
}

// countMarks looks at every cell of numbers in the sample.
func (t *table) countMarks() marks {
	var m marks
	var cells [][]byte
	for _, r := range t.sample() {
		cells = splitCells(cells[:0], r.text, t.delimiter)
		if len(cells) != t.width {
			continue
		}
		for k, cell := range cells {
			if t.mostly(k) == isNumber && looksNumeric(cell) {
				m.count(cell, r.line)
			}
		}
	}
	return m
}

func (m *marks) count(cell []byte, line int) {
	comma, point := bytes.LastIndexByte(cell, ','), bytes.LastIndexByte(cell, '.')
	switch {
	case comma < 0 && point < 0:
	case comma >= 0 && point >= 0: // the last one is the decimal mark
		if comma > point {
			m.comma++
		} else {
			m.point++
		}
	case comma >= 0 && grouped(cell, ','):
		m.groupedComma++
		m.keep(cell, line)
	case comma >= 0:
		m.comma++
	case grouped(cell, '.'):
		m.groupedPoint++
		m.keep(cell, line)
	default:
		m.point++
	}
}

// keep keeps the first cell that leaves it open.
func (m *marks) keep(cell []byte, line int) {
	if m.line == 0 {
		m.example, m.line = string(cell), line
	}
}

// grouped reports whether the marks in a number could part thousands: one to
// three figures that do not begin with 0, then groups of exactly three.
func grouped(cell []byte, mark byte) bool {
	cell = plainSign(cell)
	first := bytes.IndexByte(cell, mark)
	if first < 1 || first > 3 || cell[0] == '0' || !allDigits(cell[:first]) || (len(cell)-first)%4 != 0 {
		return false
	}
	for rest := cell[first:]; len(rest) > 0; rest = rest[4:] {
		if rest[0] != mark || !allDigits(rest[1:4]) {
			return false
		}
	}
	return true
}

// findMark returns the decimal mark, and its word where the file shows it.
// impossible says that as a thousands mark it would give readings that nothing
// has.
func (t *table) findMark(s Settings, impossible func(mark byte) bool) (mark byte, word string, err error) {
	m := t.countMarks()
	switch {
	case s.Decimal == "comma":
		return ',', s.Decimal, nil
	case s.Decimal == "point":
		return '.', s.Decimal, nil
	case m.comma > m.point:
		return ',', "comma", nil
	case m.point > 0:
		return '.', "point", nil
	case m.groupedComma > 0 && m.groupedPoint == 0:
		if impossible(',') {
			return ',', "comma", nil
		}
	case m.groupedPoint > 0 && m.groupedComma == 0:
		if t.delimiter == ',' || impossible('.') {
			return '.', "point", nil
		}
	case m.groupedComma == 0:
		return '.', "", nil // whole numbers
	}
	word = "comma"
	if m.groupedComma == 0 {
		word = "point"
	}
	return 0, "", t.head.fault(m.line, "", strict.Quote(m.example)+" and nothing in the file that shows whether its mark is a decimal mark",
		"--decimal "+word+" if it is one; if it parts thousands, an export without digit grouping")
}

// thousands is the error for a figure with a thousands mark, or with a decimal
// mark that the others do not have.
func thousands(h *head, line int, column string, cell []byte, mark byte) error {
	word, other := "point", "comma"
	if mark == ',' {
		word, other = other, word
	}
	return h.fault(line, "column "+column, strict.Quote(h.enc.text(cell)),
		"a number without thousands marks, with a decimal "+word+" (export without digit grouping, or say --decimal "+other+")")
}

// hasOtherMark reports whether a cell that is made like a number has a mark
// that is not the decimal mark, or more than one of those.
func hasOtherMark(cell []byte, mark byte) bool {
	if !looksNumeric(cell) || !bytes.ContainsAny(cell, "0123456789") {
		return false
	}
	seen := false
	for _, c := range plainSign(cell) {
		switch {
		case c == mark:
			if seen {
				return true
			}
			seen = true
		case c == '.' || c == ',' || thousandsMark(c):
			return true
		}
	}
	return false
}
