package foreign

import (
	"math"
	"slices"
	"strconv"
	"time"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// fewest is how many readings of a trapped pressure a file must have.
const fewest = 10

// mostBackwards is the share of rows that may be left out because their time
// runs backwards (own).
const mostBackwards = 0.05

// file makes the File of the rows that were read.
func (t *rows) file() (*File, error) {
	if err := t.checkDates(); err != nil {
		return nil, err
	}
	if err := t.checkOrder(); err != nil {
		return nil, err
	}
	if err := t.judge(); err != nil {
		return nil, err
	}
	t.notes = append(t.notes, t.timeline.told.all("gaps and jumps of time")...)
	later := t.settleTimes()
	f := &File{
		Name: t.head.name, Hash: t.hash, Rows: len(t.time), Lines: t.line,
		Units: map[string]si.Unit{}, Headers: map[string]string{},
		Interval: medianStep(t.time),
	}
	t.setStart(f, int64(math.Round(later*1e9)))
	for i := range t.values {
		c, err := t.seriesColumn(i)
		if err != nil {
			return nil, err
		}
		if c.Len() == 0 {
			continue
		}
		f.Series.Columns = append(f.Series.Columns, c)
		f.Units[c.Name], f.Headers[c.Name] = t.values[i].unit, t.values[i].heading
	}
	f.Headers[Time.String()] = t.headings[t.timeCol].full
	f.Notes, f.Settings = t.notes, t.settings
	return f, nil
}

// checkDates refuses dates that can be read in two ways.
func (t *rows) checkDates() error {
	c := &t.clock.calendar
	left := c.ambiguous()
	if left == nil {
		switch word := c.word(); {
		case word != "" && !c.given:
			t.settings.TimeFormat = word
			t.note("dates are %s: the file has some that can be read in no other order", dateWords[word])
		case c.dots:
			t.note("dates with dots: day.month.year")
		}
		return nil
	}
	want := "to know their order: "
	for i, word := range left {
		if i > 0 {
			want += ", or "
		}
		want += "--time-format " + word + " (" + dateWords[word] + ")"
	}
	return t.head.fault(t.records[t.first].line, "dates", `"`+c.example+`" and no date in the file that shows which number is the month`, want)
}

var dateWords = map[string]string{"dmy": "day, month, year", "mdy": "month, day, year", "ymd": "year, month, day"}

// checkOrder refuses a file of which much runs backwards in time.
func (t *rows) checkOrder() error {
	t.timeline.tell()
	n := len(t.time) + t.timeline.left
	switch {
	case t.timeline.left > max(few(n), int(mostBackwards*float64(n))):
		return t.head.fault(t.timeline.leftLine, "time", "times that run backwards, in "+strconv.Itoa(t.timeline.left)+" of "+strconv.Itoa(n)+" rows",
			"rows in the order of time, one record a file")
	case t.timeline.same > 0 && t.timeline.last == t.timeline.origin:
		return t.head.fault(t.timeline.sameLine, "time", "the same time in every row", "times that run")
	}
	return nil
}

// setStart sets when the record began; later is how much later than its stamp
// the first row is, ns.
func (t *rows) setStart(f *File, later int64) {
	origin := t.timeline.origin + later
	f.Start = t.clock.startTime(origin, t.zone)
	switch {
	case t.clock.kind == byStamp || t.clock.kind == byColumns:
		if !t.clock.zoned && t.settings.Zone == "" {
			t.note("stamps name no time zone: taken as UTC")
		}
		midnight := time.Date(f.Start.Year(), f.Start.Month(), f.Start.Day(), 0, 0, 0, 0, f.Start.Location())
		f.Origin = f.Start.Sub(midnight).Seconds()
	default:
		f.Origin = float64(origin) / 1e9
		if origin != 0 {
			t.note("the file's time is %s s at its first row, which is 0 s here", seconds(origin))
		}
	}
	if t.clock.kind == byNumber {
		f.Units[Time.String()] = si.Unit{Symbol: "s", Quantity: si.Time, Factor: 1}
		for _, u := range si.ParseAnyUnit(t.timeUnit()) {
			if u.Quantity == si.Time {
				f.Units[Time.String()] = u
			}
		}
	}
}

// timeUnit is the symbol of the unit of plain times.
func (t *rows) timeUnit() string {
	for symbol, ns := range map[string]int64{"ms": second / 1000, "min": minute, "h": hour, "d": day} {
		if ns == t.clock.unit {
			return symbol
		}
	}
	return "s"
}

// seriesColumn is the column of value i; empty where it has no reading and is
// no pressure that is judged.
func (t *rows) seriesColumn(i int) (series.Column, error) {
	v := t.values[i]
	trapped := v.role == TrappedA || v.role == TrappedB
	valid, constant := describe(t.column[i])
	fault := func(found, want string) (series.Column, error) {
		return series.Column{}, t.head.fault(0, "column "+v.title, found, want)
	}
	switch {
	case trapped && valid < fewest:
		return fault(plural(valid, "reading"), "at least "+strconv.Itoa(fewest))
	case trapped && constant:
		first := t.column[i][slices.IndexFunc(t.column[i], func(x float64) bool { return !math.IsNaN(x) })]
		return fault("the same value in all "+strconv.Itoa(valid)+" readings, "+t.shown(v, first), "a pressure that is measured: it never stays quite the same")
	case valid == 0:
		t.note("column %s has no readings: not used", v.title)
		return series.Column{}, nil
	case constant && v.role == Temperature:
		t.note("column %s has the same value in all readings", v.title)
	}
	c := series.Column{Name: v.role.String(), Quantity: roles[v.role].quantity, Time: t.time, Value: t.column[i]}
	if every := slower(t.column[i], valid); every > 1 {
		t.note("column %s has a reading in every %s row: it keeps its own pace", v.title, ordinal(every))
		return c.Valid(), nil
	}
	if missing := c.Len() - valid; missing > 0 {
		t.note("column %s: %s without a reading", v.title, plural(missing, "row"))
	}
	return c, nil
}

// shown is an SI value in the column's unit.
func (t *rows) shown(v value, x float64) string {
	return strconv.FormatFloat((x-v.offset)/v.factor, 'g', 9, 64) + " " + v.unit.Symbol
}

// describe counts the readings of a column, and says whether all are the same.
func describe(column []float64) (valid int, constant bool) {
	first := math.NaN()
	constant = true
	for _, x := range column {
		switch {
		case math.IsNaN(x):
			continue
		case valid == 0:
			first = x
		case x != first:
			constant = false
		}
		valid++
	}
	return valid, constant
}

// slower returns k ≥ 2 where a column with that many readings has one in
// every k-th row and hardly any elsewhere; 1 otherwise.
func slower(column []float64, readings int) int {
	if readings < 3 || 2*readings > len(column)+1 {
		return 1
	}
	gaps := map[int]int{}
	last := -1
	for i, x := range column {
		if math.IsNaN(x) {
			continue
		}
		if last >= 0 {
			gaps[i-last]++
		}
		last = i
	}
	for every, n := range gaps {
		if every > 1 && n*10 >= (readings-1)*9 {
			return every
		}
	}
	return 1
}

func ordinal(n int) string {
	switch {
	case n%100/10 == 1:
	case n%10 == 1:
		return strconv.Itoa(n) + "st"
	case n%10 == 2:
		return strconv.Itoa(n) + "nd"
	case n%10 == 3:
		return strconv.Itoa(n) + "rd"
	}
	return strconv.Itoa(n) + "th"
}

// mostSteps is how many steps the median is taken of.
const mostSteps = 1 << 16

// medianStep is the median time between rows, s, of at most mostSteps steps
// evenly over the file; 0 for a single row.
func medianStep(time []float64) float64 {
	every := len(time)/mostSteps + 1
	steps := make([]float64, 0, min(len(time), mostSteps))
	for i := 1; i < len(time); i += every {
		steps = append(steps, time[i]-time[i-1])
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return float64(nanos(steps[len(steps)/2])) / 1e9
}
