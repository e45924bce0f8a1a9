package foreign

import (
	"bytes"
	"strconv"
)

// trouble counts what was wrong with lines and cells.
type trouble struct {
	odd     []int     // values of the row at hand whose cells are words
	words   []wording // by value
	repeats int       // header lines again
	pending lineRun   // lines that are no rows, since the last row
	between lineRun   // the same, with rows after them
	told    tally     // of those
	cut     bool      // the last line is cut short
}

// wording counts the cells of a column that are words.
type wording struct {
	cells, line int
	text        string
}

// lineRun counts lines, and keeps the first.
type lineRun struct {
	lines, line int
	text        string
}

func newTrouble(values int) trouble { return trouble{words: make([]wording, values)} }

// few is how many lines or cells of n may be no readings before a file is
// refused.
func few(n int) int { return max(5, n/1000) }

// noRow counts a line that is no row of readings.
func (t *rows) noRow(line []byte) {
	if t.pending.lines == 0 {
		t.pending.line, t.pending.text = t.line, t.cellText(bytes.TrimSpace(line))
	}
	t.pending.lines++
}

// strange notes that lines which are no rows stand between rows.
func (t *rows) strange() {
	p := t.pending
	t.pending = lineRun{}
	if t.between.lines == 0 {
		t.between = p
		t.between.lines = 0
	}
	t.between.lines += p.lines
	what := "no row of readings"
	if p.lines > 1 {
		what = "and what follows, " + plural(p.lines, "line") + " that are no rows of readings"
	}
	t.trouble.told.add("line %d: %s: %s: left out", p.line, p.text, what)
}

// countWords counts the cells of the row at hand that are words.
func (t *rows) countWords() {
	for _, i := range t.odd {
		w := &t.words[i]
		if w.cells == 0 {
			w.line, w.text = t.line, t.cellText(t.cells[t.values[i].column])
		}
		w.cells++
	}
}

// judge says whether there is more of it than a few, and else notes it.
func (t *rows) judge() error {
	n := len(t.time)
	if t.between.lines > few(n) || t.pending.lines > few(n)+100 {
		run := t.between
		if run.lines == 0 {
			run = t.pending
		}
		return t.head.fault(run.line, "", run.text+" ("+plural(run.lines, "such line")+")", "rows of readings, a time first")
	}
	for i, w := range t.words {
		if w.cells > few(n) {
			return t.head.fault(w.line, "column "+t.title(i), w.text+" ("+plural(w.cells, "cell")+" that are no numbers)",
				`numbers; words of the logger's own for "no reading" can be given with no_reading in a settings file`)
		}
		if w.cells > 0 {
			t.note("line %d: column %s: %s is no number: taken as no reading%s", w.line, t.title(i), w.text, also(w.cells-1))
		}
	}
	if t.repeats > 0 {
		t.note("%s skipped", plural(t.repeats, "repeated header line"))
	}
	t.notes = append(t.notes, t.trouble.told.all("lines that are no rows of readings")...)
	if t.pending.lines > 0 {
		t.note("%s after the last reading left out, from line %d", plural(t.pending.lines, "line"), t.pending.line)
	}
	if t.cut {
		t.note("line %d: the last line is cut short: left out", t.line)
	}
	return nil
}

// also is ", and 3 cells more".
func also(n int) string {
	if n == 0 {
		return ""
	}
	return ", and " + strconv.Itoa(n) + " more"
}
