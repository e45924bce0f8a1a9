package foreign

import (
	"bytes"
	"math"
	"strconv"
)

// slow reads a line that quick could not: with quotes, blanks, words for no
// reading, or one that is no row of readings at all. An error is one that no
// further line can mend.
func (t *rows) slow(line []byte) error {
	t.cells = splitCells(t.cells[:0], line, t.delimiter)
	switch {
	case blank(t.cells):
		return nil
	case t.isRepeat(line):
		t.repeats++
		return nil
	}
	ns, ok, err := t.timeOf(t.cells)
	switch {
	case err != nil:
		return err
	case !ok:
		t.noRow(line)
		return nil
	case t.torn && len(t.cells) < t.width:
		t.cut = true
		return nil
	}
	if err := t.tooWide(); err != nil {
		return err
	}
	words, err := t.valuesOf(t.cells)
	switch {
	case err != nil:
		return err
	case words > 0 && len(t.cells) < t.width:
		t.noRow(line) // a remark with a time
		return nil
	case words > 0:
		t.countWords()
	}
	t.accept(ns)
	return nil
}

func blank(cells [][]byte) bool {
	for _, cell := range cells {
		if len(cell) > 0 {
			return false
		}
	}
	return true
}

// isRepeat reports whether a line is the header again, or the row of units.
func (t *rows) isRepeat(line []byte) bool {
	for _, i := range []int{t.header, t.units} {
		if i >= 0 && bytes.Equal(bytes.TrimSpace(line), bytes.TrimSpace(t.records[i].text)) {
			return true
		}
	}
	return false
}

// timeOf reads the row's time.
func (t *rows) timeOf(cells [][]byte) (ns int64, ok bool, err error) {
	if t.timeCol >= len(cells) || t.dateCol >= len(cells) {
		return 0, false, nil
	}
	cell := cells[t.timeCol]
	var date []byte
	if t.dateCol >= 0 {
		date = cells[t.dateCol]
	}
	if ns, ok = t.clock.read(cell, date); ok {
		return ns, true, nil
	}
	if t.clock.kind == byNumber && hasOtherMark(cell, t.mark) {
		return 0, false, thousands(t.head, t.line, t.headerTitle(t.timeCol), cell, t.mark)
	}
	return 0, false, nil
}

func (t *rows) headerTitle(k int) string { return (&finder{table: t.table}).title(k) }

// tooWide refuses a row with more figures than there are columns: a comma
// within a figure would look so.
func (t *rows) tooWide() error {
	width := max(t.width, len(t.headings))
	for k := width; k < len(t.cells); k++ {
		if len(t.cells[k]) > 0 && isDigit(t.cells[k][0]) {
			return t.head.fault(t.line, "", strconv.Itoa(len(t.cells))+" cells in a row", "as many as in the others: "+strconv.Itoa(width)+
				" (figures with thousands marks? export without digit grouping)")
		}
	}
	return nil
}

// valuesOf reads the figures into the row at hand; words counts the cells that are
// neither figures nor words for no reading.
func (t *rows) valuesOf(cells [][]byte) (words int, err error) {
	t.odd = t.odd[:0]
	for i, v := range t.values {
		t.column[i][t.n] = math.NaN()
		if v.column >= len(cells) {
			continue
		}
		cell := cells[v.column]
		if x, ok := parseNumber(cell, t.mark); ok {
			t.column[i][t.n] = float64(x*v.factor) + v.offset
			continue
		}
		switch {
		case noReading(cell, t.own):
		case hasOtherMark(cell, t.mark):
			return 0, thousands(t.head, t.line, v.title, cell, t.mark)
		default:
			t.odd = append(t.odd, i)
		}
	}
	return len(t.odd), nil
}
