package foreign

import "fmt"

// timeline puts the times of rows in order, as they come: it mends changes of
// the clock by an hour and midnights without a date, and tells rows whose time
// runs backwards from those that count.
type timeline struct {
	wall  bool  // times are those of a clock, which may be changed
	daily bool  // and of a day, without its date
	usual int64 // usual step, ns; 0 unknown
	plain int64 // steps below this need no thought, ns; 0 before the first row
	gap   int64 // what plain is from then on

	started      bool
	origin, last int64 // of the first and the last row, mended, ns
	shift        int64 // what the mending adds, ns

	same, sameLine int // rows with the time of the row before; the first such
	left, leftLine int // rows left out because time runs backwards
	episode        backwards
	told           tally
}

// backwards is a run of rows left out.
type backwards struct {
	line, rows int
	by         int64
}

func newTimeline(c *clock, usual int64) timeline {
	return timeline{
		wall:  c.kind != byNumber,
		daily: c.kind == byDaytime,
		usual: usual,
		gap:   min(max(5*usual, usual+second), hour-usual-second),
	}
}

// step takes the time of the next row, in ns as written. keep is false for a
// row that must be left out. at is the time since the origin, s.
func (t *timeline) step(ns int64, line int) (at float64, keep bool) {
	ns += t.shift
	if d := ns - t.last; d <= 0 || d >= t.plain {
		if !t.odd(&ns, line) {
			return 0, false
		}
	}
	t.last = ns
	if t.episode.rows > 0 {
		t.tell()
	}
	return float64(ns-t.origin) / 1e9, true
}

// odd handles the steps that are not plain; it may mend ns.
func (t *timeline) odd(ns *int64, line int) (keep bool) {
	d := *ns - t.last
	switch {
	case !t.started:
		t.started, t.origin, t.plain = true, *ns, t.gap
	case d == 0:
		if t.same++; t.same == 1 {
			t.sameLine = line
		}
	case t.wall && t.likely(d+hour):
		t.mend(ns, hour, "line %d: the clock jumps back by 3600 s: treated as a clock change", line)
	case t.wall && t.likely(d-hour):
		t.mend(ns, -hour, "line %d: the clock jumps forward by 3600 s: treated as a clock change", line)
	case t.daily && d < -12*hour && d+day >= 0:
		t.mend(ns, day, "line %d: midnight", line)
	case d < 0:
		t.back(d, line)
		return false
	default:
		t.told.add("line %d: no rows for %s s before it", line, seconds(d))
	}
	return true
}

// likely reports whether a step is about the usual one.
func (t *timeline) likely(d int64) bool {
	return t.usual > 0 && d >= 0 && d <= t.usual+t.usual/2+1e6
}

func (t *timeline) mend(ns *int64, by int64, format string, line int) {
	t.shift += by
	*ns += by
	t.told.add(format, line)
}

// back leaves a row out.
func (t *timeline) back(d int64, line int) {
	if t.left == 0 {
		t.leftLine = line
	}
	if t.episode.rows == 0 {
		t.episode.line, t.episode.by = line, -d
	}
	t.episode.rows++
	t.left++
}

// tell notes a run of rows left out, when it is over.
func (t *timeline) tell() {
	e := t.episode
	if e.rows == 0 {
		return
	}
	rows := "row"
	if e.rows > 1 {
		rows = fmt.Sprintf("%d rows", e.rows)
	}
	t.told.add("line %d: time runs backwards by %s s: %s left out", e.line, seconds(e.by), rows)
	t.episode = backwards{}
}
