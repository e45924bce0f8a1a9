package foreign

import (
	"bytes"
	"slices"
	"strconv"
)

// table is the head as a table: where the header and the rows of readings are,
// and what the columns look like.
type table struct {
	head      *head
	delimiter byte
	own       map[string]bool // the logger's own words for no reading
	records   []headLine
	first     int // index of the first row of readings
	width     int // cells of a row
	header    int // index of the header, -1 where there is none
	units     int // index of a row of units beneath it, -1
	headings  []heading
	looks     [][classes]int // by column: how many cells of each class
}

// delimiterOrder is that in which delimiters are tried; of two that make as
// many rows of readings, the first counts.
var delimiterOrder = []string{"tab", "semicolon", "comma"}

// sampleRows is how many rows of readings are looked at to find the layout.
const sampleRows = 300

// table finds delimiter, header and rows of readings.
func (h *head) table(s Settings) (*table, error) {
	var best *table
	score := 0
	records := h.records()
	for _, word := range delimiterOrder {
		if s.Delimiter != "" && s.Delimiter != word {
			continue
		}
		t := &table{head: h, delimiter: delimiters[word], own: s.ownWords(), records: records, header: -1, units: -1}
		if n := t.findRows(max(s.HeaderLine, 0)); n > score {
			best, score = t, n
		}
	}
	if best == nil {
		return nil, h.fault(0, "", "no rows of readings", wantFile+": rows of a time and a pressure, parted by comma, semicolon or tab")
	}
	best.findHeader(s.HeaderLine)
	return best, best.checkWidth()
}

// findRows finds the rows of readings after the given line: those with the
// count of cells that most of them have. It returns how many there are in the
// sample.
func (t *table) findRows(after int) int {
	counts := map[int]int{}
	var rows [][]class // nil for a record that is none
	var cells [][]byte
	for sample := 0; len(rows) < len(t.records) && sample < sampleRows; {
		r := t.records[len(rows)]
		rows = append(rows, nil)
		if r.line <= after || bytes.IndexByte(r.text, t.delimiter) < 0 {
			continue
		}
		cells = splitCells(cells[:0], r.text, t.delimiter)
		looks := make([]class, len(cells))
		for k, cell := range cells {
			looks[k] = classify(cell, t.own)
		}
		if likeReadings(looks) {
			rows[len(rows)-1] = looks
			counts[len(looks)]++
			sample++
		}
	}
	n := 0
	for width, count := range counts {
		if count > n || count == n && width > t.width {
			t.width, n = width, count
		}
	}
	t.look(rows)
	return n
}

// likeReadings reports whether a record may be a row of readings: something
// like a number or a time, and more of such and blanks than of texts, or as many
// with a time before them.
func likeReadings(looks []class) bool {
	figures, texts := 0, 0
	for _, c := range looks {
		switch c {
		case isText:
			texts++
		case isBlank:
		default:
			figures++
		}
	}
	others := len(looks) - texts
	return len(looks) >= 2 && figures > 0 && (others > texts || others == texts && looks[0] != isText && looks[0] != isBlank)
}

// look counts what the cells of the columns look like, and finds the first row
// that looks like the others.
func (t *table) look(rows [][]class) {
	t.looks = make([][classes]int, t.width)
	for _, row := range rows {
		if len(row) == t.width {
			for k, c := range row {
				t.looks[k][c]++
			}
		}
	}
	t.first = slices.IndexFunc(rows, func(row []class) bool { return len(row) == t.width && t.usual(row) })
	if t.first < 0 {
		t.first = slices.IndexFunc(rows, func(row []class) bool { return len(row) == t.width })
	}
}

// usual reports whether no cell of a row looks other than its column mostly
// does.
func (t *table) usual(row []class) bool {
	for k, c := range row {
		if c != isBlank && c != t.mostly(k) && t.mostly(k) != isBlank {
			return false
		}
	}
	return true
}

// mostly is what the cells of column k (from 0) that are not blank mostly look
// like.
func (t *table) mostly(k int) class {
	best := isBlank
	for c, n := range t.looks[k] {
		if class(c) != isBlank && n > 0 && (best == isBlank || n > t.looks[k][best]) {
			best = class(c)
		}
	}
	return best
}

// findHeader finds the line of names above the first row, and a row of units
// between them.
func (t *table) findHeader(given int) {
	switch {
	case given == NoHeader || t.first < 0:
	case given > 0:
		t.header = slices.IndexFunc(t.records, func(r headLine) bool { return r.line == given })
		if t.header >= 0 && t.header+1 < t.first && t.unitRow(t.header+1) {
			t.units = t.header + 1
		}
	default:
		t.lookUp()
	}
	t.headings = make([]heading, t.width)
	if t.header < 0 {
		return
	}
	t.firstBelow(max(t.header, t.units) + 1)
	names := t.cells(t.header)
	t.headings = make([]heading, max(t.width, len(names)))
	for k, name := range names {
		t.headings[k] = parseHeading(t.head.enc.text(name))
	}
	if t.units >= 0 {
		for k, unit := range t.cells(t.units) {
			if k < len(names) && t.headings[k].unit == "" {
				t.headings[k].unit = bareUnit(t.head.enc.text(unit))
			}
		}
	}
}

// firstBelow takes for the first row one that comes before it, below the header,
// and has a cell that looks other than those of its column do.
func (t *table) firstBelow(from int) {
	for i := from; i < t.first; i++ {
		cells := t.cells(i)
		looks := make([]class, len(cells))
		for k, cell := range cells {
			looks[k] = classify(cell, t.own)
		}
		if len(cells) == t.width && likeReadings(looks) && looks[0] != isText {
			t.first = i
		}
	}
}

// lookUp finds the header upwards from the first row: the nearest line with a
// name for each cell, else the nearest of at least two names.
func (t *table) lookUp() {
	for _, least := range []int{t.width, 2} {
		for i := t.first - 1; i >= 0; i-- {
			if n := t.names(i); n < 2 || len(t.cells(i)) < least {
				continue
			}
			if t.units < 0 && t.unitRow(i) && i > 0 && t.names(i-1) >= 2 && len(t.cells(i-1)) >= least {
				t.units, t.header = i, i-1
				return
			}
			t.header = i
			return
		}
	}
}

func (t *table) cells(i int) [][]byte { return splitCells(nil, t.records[i].text, t.delimiter) }

// names counts the cells of a record that may be names.
func (t *table) names(i int) int {
	n := 0
	for _, cell := range t.cells(i) {
		if len(cell) > 0 && classify(cell, nil) == isText {
			n++
		}
	}
	return n
}

// unitRow reports whether each cell of a record that says something is a unit,
// for at least one of which there is a reading.
func (t *table) unitRow(i int) bool {
	units := 0
	for _, cell := range t.cells(i) {
		text := bareUnit(t.head.enc.text(cell))
		if text == "" || text == "-" || text == "%" {
			continue
		}
		if _, _, ok := parseUnit(text); ok {
			units++
			continue
		}
		if !timePattern(text) {
			return false
		}
	}
	return units > 0
}

// timePattern reports whether a text describes how a time is written, as
// "hh:mm:ss" or "dd.mm.yyyy".
func timePattern(text string) bool {
	letters := 0
	for _, c := range text {
		switch {
		case c|0x20 == 'h' || c|0x20 == 'm' || c|0x20 == 's' || c|0x20 == 'd' || c|0x20 == 'y' || c|0x20 == 'j' || c|0x20 == 't':
			letters++
		case c != ':' && c != '.' && c != '-' && c != '/' && c != ' ' && c != ',' && c != '0' && c != 'f':
			return false
		}
	}
	return letters > 3
}

// bareUnit takes brackets off a unit that stands in a row of units.
func bareUnit(text string) string {
	if len(text) > 2 && (text[0] == '[' && text[len(text)-1] == ']' || text[0] == '(' && text[len(text)-1] == ')') {
		return text[1 : len(text)-1]
	}
	return text
}

// checkWidth finds rows that have more cells than there are names.
func (t *table) checkWidth() error {
	if t.header < 0 || t.width <= t.namesInHeader() {
		return nil
	}
	cells := t.cells(t.first)
	for _, cell := range cells[t.namesInHeader():] {
		if len(cell) == 0 || !isDigit(cell[0]) {
			continue
		}
		want := "as many as the header has names: " + strconv.Itoa(t.namesInHeader())
		if t.delimiter == ',' {
			want += " (decimal commas or thousands marks cannot be told from commas between cells: export with decimal points, or with semicolons between cells)"
		}
		return t.head.fault(t.records[t.first].line, "", strconv.Itoa(len(cells))+" cells in a row", want)
	}
	return nil
}

func (t *table) namesInHeader() int { return len(t.cells(t.header)) }

// sample are the records from the first row on, as far as they are looked at.
func (t *table) sample() []headLine {
	return t.records[t.first:min(len(t.records), t.first+sampleRows)]
}
