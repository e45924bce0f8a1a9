package foreign

import "holdbench/analysis/si"

// findTime finds the time: a column of plain numbers whose name or unit says
// so, else one of stamps, else one of times of day and, where there is one,
// the column of dates beside it.
func (f *finder) findTime() error {
	if f.chosen[Time] >= 0 {
		return f.findDate()
	}
	for _, found := range [][]int{f.runningTimes(), f.like(isStamp), f.like(isDaytime)} {
		if len(found) == 0 {
			continue
		}
		if err := f.only(Time, f.prefer(f.prefer(found, saysTime|saysElapsed), saysElapsed)); err != nil {
			return err
		}
		return f.findDate()
	}
	return f.headerFault("", f.columnsFound(), "a time column; say which it is, e.g. "+Time.optionFor("1", "s"))
}

// findDate finds the date beside a time of day.
func (f *finder) findDate() error {
	if f.mostly(f.chosen[Time]) != isDaytime || !f.open(Date) {
		return nil
	}
	// A date may stand with the midnight that some programs add.
	found := f.like(isDay)
	if len(found) == 0 {
		found = f.prefer(f.like(isStamp), saysDate)
	}
	return f.only(Date, f.prefer(found, saysDate))
}

// like are the columns, not yet taken, whose cells mostly look so.
func (f *finder) like(c class) []int {
	var out []int
	for k := range f.width {
		if f.mostly(k) == c && f.chosen[Time] != k {
			out = append(out, k)
		}
	}
	return out
}

// runningTimes are columns of plain numbers that are times. Where a unit of
// time stands with one, those without do not count.
func (f *finder) runningTimes() []int {
	found := f.candidates(si.Time, func(h heading) bool { return h.mean&(saysDate|saysTime) != saysDate })
	var numbers, withUnit []int
	for _, k := range found {
		if f.mostly(k) != isNumber {
			continue
		}
		numbers = append(numbers, k)
		if f.headings[k].unit != "" {
			withUnit = append(withUnit, k)
		}
	}
	if len(withUnit) > 0 {
		return withUnit
	}
	return numbers
}
