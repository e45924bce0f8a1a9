package foreign

import (
	"slices"

	"holdbench/daq/strict"
)

// setClock finds out how times are written.
func (l *layout) setClock() error {
	l.clock = clock{mark: l.mark, calendar: newCalendar(l.settings.TimeFormat), unit: second}
	switch l.mostly(l.timeCol) {
	case isNumber:
		return l.setUnit()
	case isDaytime:
		l.clock.kind = byDaytime
		if l.dateCol >= 0 {
			l.clock.kind = byColumns
		}
		return l.setFields()
	case isStamp:
		l.clock.kind = byStamp
		return nil
	}
	cell, line := l.firstCell(l.timeCol)
	return l.head.fault(line, "time", strict.Quote(cell),
		"a number, hh:mm:ss, or a date and time such as 2026-03-04T12:30:00 or 04.03.2026 12:30:00")
}

// setUnit takes the unit of plain numbers; without one they are seconds.
func (l *layout) setUnit() error {
	written := l.settings.Columns[Time].Unit
	if written == "" {
		written = l.headings[l.timeCol].unit
	}
	if written == "" {
		l.note("the time has no unit: taken as seconds")
		return nil
	}
	unit, _, ok := parseUnit(written)
	if !ok || unit.Quantity != roles[Time].quantity {
		line := 0
		if l.header >= 0 {
			line = l.records[l.header].line
		}
		return l.head.fault(line, "time", "unit "+strict.Quote(written), "s, ms, min, h or d; say it with "+Time.optionFor("COLUMN", "s"))
	}
	l.clock.unit = int64(unit.Factor*1e9 + 0.5)
	return nil
}

// setFields tells hours and minutes from minutes and seconds.
func (l *layout) setFields() error {
	l.clock.short = l.settings.TimeFormat == "mm:ss"
	cell, line := l.firstCell(l.timeCol)
	t, _ := cutDaytime([]byte(cell))
	if t.open() && !slices.Contains([]string{"mm:ss", "hh:mm"}, l.settings.TimeFormat) {
		return l.head.fault(line, "time", strict.Quote(cell), "to know what the two numbers are: --time-format mm:ss or --time-format hh:mm")
	}
	return nil
}

// firstCell is the first cell of column k that looks as most do.
func (l *layout) firstCell(k int) (string, int) {
	for _, r := range l.records[l.first:] {
		if cells := l.splitRow(r); cells != nil && classify(cells[k], l.own) == l.mostly(k) {
			return string(cells[k]), r.line
		}
	}
	return "", 0
}

// usualStep is the median of the steps between unequal times in the head, ns.
func (l *layout) usualStep() int64 {
	c := l.clock // a copy: the dates of the head are learnt with the rows
	var steps []int64
	last, any := int64(0), false
	for _, r := range l.sample() {
		cells := l.splitRow(r)
		if cells == nil {
			continue
		}
		var date []byte
		if l.dateCol >= 0 {
			date = cells[l.dateCol]
		}
		ns, ok := c.read(cells[l.timeCol], date)
		if !ok {
			continue
		}
		if any && ns > last {
			steps = append(steps, ns-last)
		}
		last, any = ns, true
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}
