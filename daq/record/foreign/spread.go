package foreign

import (
	"math"
	"slices"
	"strconv"
)

// spreadShare is the share of rows with the time of the row before, from which
// the times are taken for stamps of a coarse clock (own).
const spreadShare = 0.2

// coarse reports whether rows share their times because the clock is coarse.
func (t *rows) coarse() bool {
	return float64(t.timeline.same) >= spreadShare*float64(len(t.time))
}

// spread gives rows that share a stamp times evenly within its step, which is
// the usual one between unequal stamps. The rows of the first stamp are the
// last in its step, since the logger began somewhere within it. It returns
// how much later than its stamp the first row is, s.
func spread(time []float64, usual int64) (later float64, each int) {
	groups := runs(time)
	each = usualSize(groups)
	for g, run := range groups {
		from := nanos(time[run.from])
		step := usual
		if g+1 < len(groups) {
			step = min(step, nanos(time[run.to])-from)
		}
		n, begin := int64(run.to-run.from), int64(0)
		switch {
		case g == 0 && n < int64(each):
			n, begin = int64(each), int64(each)-n
		case g == len(groups)-1 && n < int64(each):
			n = int64(each)
		}
		for i := run.from; i < run.to; i++ {
			time[i] = float64(from+(begin+int64(i-run.from))*step/n) / 1e9
		}
	}
	later = time[0]
	if later != 0 {
		for i := range time {
			time[i] = float64(nanos(time[i])-nanos(later)) / 1e9
		}
		time[0] = 0
	}
	return later, each
}

// run is rows from ≤ i < to of one time.
type run struct{ from, to int }

func runs(time []float64) []run {
	var out []run
	for i := range time {
		if i == 0 || time[i] != time[i-1] {
			out = append(out, run{i, i})
		}
		out[len(out)-1].to = i + 1
	}
	return out
}

// usualSize is the median of the runs' lengths, without the first and the last
// where there are others.
func usualSize(groups []run) int {
	if len(groups) > 2 {
		groups = groups[1 : len(groups)-1]
	}
	sizes := make([]int, len(groups))
	for i, g := range groups {
		sizes[i] = g.to - g.from
	}
	slices.Sort(sizes)
	if len(groups) <= 2 {
		return sizes[len(sizes)-1]
	}
	return sizes[len(sizes)/2]
}

func nanos(s float64) int64 { return int64(math.Round(s * 1e9)) }

// seconds writes ns in s, as short as it can be.
func seconds(ns int64) string { return strconv.FormatFloat(float64(ns)/1e9, 'f', -1, 64) }

// settleTimes makes times strictly increasing where rows share them.
func (t *rows) settleTimes() (later float64) {
	if t.timeline.same == 0 {
		return 0
	}
	if t.coarse() && t.usual > 0 {
		later, each := spread(t.time, t.usual)
		rate := strconv.FormatFloat(float64(each)*1e9/float64(t.usual), 'g', 4, 64)
		if t.usual == second {
			t.note("stamps of one second at %s Hz spread evenly within their second", rate)
		} else {
			t.note("stamps of %s s at %s Hz spread evenly within their %s s", seconds(t.usual), rate, seconds(t.usual))
		}
		return later
	}
	kept := 0
	for i, at := range t.time {
		if i > 0 && at == t.time[kept-1] {
			continue
		}
		t.time[kept] = at
		for _, column := range t.column {
			column[kept] = column[i]
		}
		kept++
	}
	t.note("line %d: the same time as the row before: row left out%s", t.timeline.sameLine, also(t.timeline.same-1))
	t.time = t.time[:kept]
	for i := range t.column {
		t.column[i] = t.column[i][:kept]
	}
	return 0
}
