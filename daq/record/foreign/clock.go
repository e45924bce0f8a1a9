package foreign

import (
	"math"
	"math/bits"
	"time"
)

// timeKind is how a file writes its times.
type timeKind uint8

const (
	byNumber  timeKind = iota // a plain number with a unit
	byDaytime                 // hh:mm:ss, of a day or since the start
	byStamp                   // date and time of day in one cell
	byColumns                 // date and time of day in two
)

// clock reads the times of one file, in ns: since 1970 for stamps, since
// midnight or the start for others.
type clock struct {
	kind     timeKind
	unit     int64 // of a plain number, ns
	mark     byte  // the decimal mark of a plain number
	short    bool  // two fields are minutes and seconds
	calendar calendar
	zoned    bool // stamps name their zone
}

// read reads a trimmed time cell; day is the trimmed date cell where there is
// one.
func (c *clock) read(cell, day []byte) (int64, bool) {
	switch c.kind {
	case byNumber:
		return c.number(cell)
	case byDaytime:
		t, ok := cutDaytime(cell)
		return t.ns(c.short), ok
	case byColumns:
		days, rest, ok := c.calendar.day(day)
		if !ok || !midnight(trim(rest)) {
			return 0, false
		}
		return c.stamp(days, cell)
	}
	days, rest, ok := c.calendar.day(cell)
	if !ok {
		return 0, false
	}
	return c.stamp(days, daytimeOf(rest))
}

// midnight reports whether a date cell that should hold a day alone has
// nothing more, or the midnight that some programs add.
func midnight(rest []byte) bool {
	if len(rest) == 0 {
		return true
	}
	t, ok := cutDaytime(daytimeOf(rest))
	return ok && t.ns(false) == 0
}

// stamp joins a day with a time of day; a day alone is its midnight.
func (c *clock) stamp(days int64, text []byte) (int64, bool) {
	if len(text) == 0 {
		return days * day, c.kind == byStamp
	}
	t, ok := cutDaytime(text)
	if !ok || t.field[0] > 24 {
		return 0, false
	}
	c.zoned = c.zoned || t.zoned
	return days*day + t.ns(c.short) - t.offset, true
}

// number reads a plain number of the clock's unit, rounded to the nanosecond.
func (c *clock) number(cell []byte) (int64, bool) {
	if len(cell) == 0 {
		return 0, false
	}
	d, end := cutDecimal(cell, c.mark)
	if end == 0 || end != len(cell) {
		return 0, false
	}
	return c.nanoseconds(d, cell)
}

// powersOfTen as whole numbers.
var powersOfTen = [...]uint64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19}

// nanoseconds is d in the clock's unit; text is how it is written.
func (c *clock) nanoseconds(d decimal, text []byte) (int64, bool) {
	if d.more || d.exponent > 0 || d.exponent < -19 {
		x := d.float(text, c.mark) * float64(c.unit)
		return int64(math.Round(x)), math.Abs(x) < 1<<62
	}
	if c.unit == second && d.exponent >= -9 && d.digits < 1e9 {
		// The common case: up to nine figures of seconds.
		return signed(d.digits*powersOfTen[9+d.exponent], d.negative), true
	}
	high, low := bits.Mul64(d.digits, uint64(c.unit))
	by := powersOfTen[-d.exponent]
	low, carry := bits.Add64(low, by/2, 0)
	if high += carry; high >= by {
		return 0, false
	}
	ns, _ := bits.Div64(high, low, by)
	return signed(ns, d.negative), ns < 1<<62
}

func signed(ns uint64, negative bool) int64 {
	if negative {
		return -int64(ns)
	}
	return int64(ns)
}

// epoch is the number of seconds from which a plain number is the time since
// 1970: in 2001.
const epoch = 1e9

// startTime is the instant of ns of this clock in that zone; zero where the
// file does not say the day.
func (c *clock) startTime(ns int64, zone *time.Location) time.Time {
	switch {
	case c.kind == byNumber && ns >= epoch*second, c.zoned:
		return time.Unix(0, ns).In(zone)
	case c.kind == byStamp || c.kind == byColumns:
		at := time.Unix(0, ns).UTC()
		return time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), at.Nanosecond(), zone)
	}
	return time.Time{}
}
