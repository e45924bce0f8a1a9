package foreign

import (
	"bytes"
	"io"
	"math"

	"holdbench/daq/strict"
)

// rows reads the rows of one file into columns.
type rows struct {
	*layout
	plan     []int // by column of the file: skipped, aTime, aDate, or a value
	clock    clock
	timeline timeline
	line     int
	torn     bool // the line at hand had no end

	time   []float64   // s since the first row
	column [][]float64 // SI, by layout.values
	row    []float64   // of the row at hand
	cells  [][]byte

	trouble
	hash string
}

// read reads the whole file. Where its dates turn out to have been read in the
// wrong order, it does so again in the right one.
func (l *layout) read(r io.ReaderAt, size int64) (*rows, error) {
	for {
		t := l.newRows(size)
		if err := t.readAll(r, size); err != nil {
			return nil, err
		}
		if !t.clock.calendar.misread {
			return t, nil
		}
		l.clock.calendar = newCalendar(t.clock.calendar.word())
		if !l.clock.calendar.given {
			return nil, l.head.fault(0, "dates", "dates of more than one order", "one order of day, month and year; say it with --time-format dmy, mdy or ymd")
		}
		l.usual = l.usualStep()
	}
}

// newRows has room for as many rows as a file of that size should have.
func (l *layout) newRows(size int64) *rows {
	t := &rows{layout: l, clock: l.clock, timeline: newTimeline(&l.clock, l.usual), trouble: newTrouble(len(l.values))}
	t.plan = make([]int, l.width)
	t.plan[l.timeCol] = aTime
	if l.dateCol >= 0 {
		t.plan[l.dateCol] = aDate
	}
	room := l.expectedRows(size)
	t.time = make([]float64, 0, room)
	for i, v := range l.values {
		t.plan[v.column] = firstValue + i
		t.column = append(t.column, make([]float64, 0, room))
	}
	t.row = make([]float64, len(l.values))
	return t
}

// expectedRows estimates the rows of a file from the length of those in the
// head, some to spare.
func (l *layout) expectedRows(size int64) int {
	last := len(l.records) - 1
	bytes, n := 0, last-l.first+1
	for _, r := range l.records[l.first:] {
		bytes += len(r.text) + 1
	}
	if l.head.enc.wide() {
		bytes *= 2
	}
	// Rows grow longer as their time does, so that this is seldom too small.
	return int(float64(size)*float64(n)/float64(bytes)*1.02) + 16
}

func (t *rows) readAll(r io.ReaderAt, size int64) error {
	c := t.head.readChunks(r, size)
	defer c.close()
	for {
		piece := <-c.out
		switch {
		case piece.err == errLongLine:
			return t.head.fault(t.line+1, "", errLongLine.Error(), wantFile+", a row a line")
		case piece.err != nil:
			return cannotRead(t.head.name, piece.err)
		}
		if err := t.lines(piece); err != nil {
			return err
		}
		if piece.last || t.clock.calendar.misread {
			t.hash = c.hash()
			return nil
		}
		c.free <- piece.text
	}
}

// lines reads the lines of a chunk.
func (t *rows) lines(piece chunk) error {
	b := piece.text
	first := t.records[t.first].line
	for len(b) > 0 {
		t.line++
		if t.line >= first {
			if n := t.fast(b); n > 0 {
				b = b[n:]
				continue
			}
		}
		n := bytes.IndexByte(b, '\n')
		t.torn = piece.torn && n == len(b)-1
		if t.line >= first {
			if err := t.slow(bytes.TrimSuffix(b[:n], []byte{'\r'})); err != nil {
				return err
			}
		}
		b = b[n+1:]
	}
	return nil
}

// fast reads a row that is as rows should be: as many cells as usual, plain
// numbers or nothing in those that count, no quotes, no blanks. It returns the
// row's length with its line end; 0 where slow must look at it. b ends with a
// line feed.
func (t *rows) fast(b []byte) int {
	i, last := 0, len(t.plan)-1
	var ns int64
	var cell, date []byte
	for c, what := range t.plan {
		switch {
		case what >= firstValue:
			v := &t.values[what-firstValue]
			end := b[i]
			if end == t.delimiter || end == '\r' || end == '\n' {
				t.row[what-firstValue] = math.NaN()
				break
			}
			d, n := cutDecimal(b[i:], t.mark)
			if n == 0 {
				return 0
			}
			x := d.float(b[i:i+n], t.mark)
			if !(math.Abs(x) < overflow) {
				return 0
			}
			t.row[what-firstValue] = float64(x*v.factor) + v.offset
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
		if c == last {
			break
		}
		if b[i] != t.delimiter {
			return 0
		}
		i++
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

// accept takes the row at hand.
func (t *rows) accept(ns int64) {
	at, keep := t.timeline.step(ns, t.line)
	if t.pending.lines > 0 {
		t.strange()
	}
	if !keep {
		return
	}
	t.time = append(t.time, at)
	for i, x := range t.row {
		t.column[i] = append(t.column[i], x)
	}
}

// title is what a message calls the column of value i.
func (t *rows) title(i int) string { return t.values[i].title }

// cellText is a cell as a message shows it.
func (t *rows) cellText(cell []byte) string { return strict.Quote(t.head.enc.text(cell)) }
