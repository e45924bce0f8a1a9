package foreign

import (
	"bytes"
	"io"
	"slices"

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

	// Times in s since the first row, and values in SI by layout.values: n rows
	// are filled, and there is room for one more.
	n      int
	time   []float64
	column [][]float64
	cells  [][]byte // of the line at hand

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
		if err := l.takeOrder(t.clock.calendar.word()); err != nil {
			return nil, err
		}
	}
}

// takeOrder takes the order of dates that the rows have shown.
func (l *layout) takeOrder(word string) error {
	if word == "" {
		return l.head.fault(0, "dates", "dates that fit more than one order of day, month and year", "to know it: --time-format dmy, mdy or ymd")
	}
	l.settings.TimeFormat = word
	l.note("dates are %s: the file has some that can be read in no other order", dateWords[word])
	l.clock.calendar = newCalendar(word)
	l.usual = l.usualStep()
	return nil
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
	t.time = make([]float64, room)
	for i, v := range l.values {
		t.plan[v.column] = firstValue + i
		t.column = append(t.column, make([]float64, room))
	}
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
		switch {
		case t.clock.calendar.misread:
			return nil
		case piece.last:
			t.trim()
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
			if n := t.quick(b); n > 0 {
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

// accept takes the row at hand, whose values are in place.
func (t *rows) accept(ns int64) {
	at, keep := t.timeline.step(ns, t.line)
	if t.pending.lines > 0 {
		t.strange()
	}
	if !keep {
		return
	}
	t.time[t.n] = at
	if t.n++; t.n == len(t.time) {
		t.grow()
	}
}

// grow makes room for more rows than the head let expect.
func (t *rows) grow() {
	room := t.n + t.n/4 + 16
	t.time = slices.Grow(t.time, room-t.n)[:room]
	for i := range t.column {
		t.column[i] = slices.Grow(t.column[i], room-t.n)[:room]
	}
}

// trim cuts the columns to the rows that came.
func (t *rows) trim() {
	t.time = t.time[:t.n:t.n]
	for i := range t.column {
		t.column[i] = t.column[i][:t.n:t.n]
	}
}

// title is what a message calls the column of value i.
func (t *rows) title(i int) string { return t.values[i].title }

// cellText is a cell as a message shows it.
func (t *rows) cellText(cell []byte) string { return strict.Quote(t.head.enc.text(cell)) }
