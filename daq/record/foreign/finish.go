package foreign

import (
	"math"
	"slices"
	"strconv"
	"time"

	"holdbench/analysis/si"
)

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
		Units: map[string]si.Unit{}, Headers: map[string]string{}, AirU: map[string]float64{},
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
		if u := t.values[i].air; u > 0 {
			f.AirU[c.Name] = u
		}
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
