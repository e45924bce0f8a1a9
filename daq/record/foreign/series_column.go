package foreign

import (
	"math"
	"slices"
	"strconv"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// fewest is how many readings of a trapped pressure a file must have.
const fewest = 10

// seriesColumn is the column of value i; empty where it has no reading and is
// no pressure that is judged.
func (t *rows) seriesColumn(i int) (series.Column, error) {
	v := t.values[i]
	fault := func(found, want string) (series.Column, error) {
		return series.Column{}, t.head.fault(0, "column "+v.title, found, want+t.without(v))
	}
	if n, first := takeImpossible(t.column[i], v); n > 0 {
		if 2*n > t.n {
			return fault(plural(n, "reading")+" that nothing can have, such as "+v.shown(first), "readings "+possible[v.unit.Quantity].words+" (is the unit right?)")
		}
		t.note("column %s: %s that nothing can have, such as %s: taken as no reading", v.title, plural(n, "reading"), v.shown(first))
	}
	trapped := v.role == TrappedA || v.role == TrappedB
	valid, constant := describe(t.column[i])
	switch {
	case trapped && valid < fewest:
		return fault(plural(valid, "reading"), "at least "+strconv.Itoa(fewest))
	case trapped && constant:
		first := t.column[i][slices.IndexFunc(t.column[i], func(x float64) bool { return !math.IsNaN(x) })]
		return fault("the same value in all "+strconv.Itoa(valid)+" readings, "+v.shown(first), "a pressure that is measured: it never stays quite the same")
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

// without says how a circuit is left out, where the file has another.
func (t *rows) without(v value) string {
	for _, other := range t.values {
		if v.role <= TrappedB && other.role <= TrappedB && other.role != v.role {
			return "; without this circuit: " + v.role.optionFor(None, "")
		}
	}
	return ""
}

// shown is an SI value in the column's unit.
func (v value) shown(x float64) string {
	return strconv.FormatFloat((x-v.offset)/v.factor, 'g', 9, 64) + " " + v.unit.Symbol
}

// possible are bounds outside of which a reading is a fault or a number that
// stands for one, such as -9999 (own; gauge pressure in Pa, temperature in K).
var possible = map[si.Quantity]struct {
	low, high float64
	words     string
}{
	si.Pressure:    {-1.5e5, highestPressure, "from -1.5 bar to 10000 bar"},
	si.Temperature: {0, highestTemperature, "from 0 K to 2000 K"},
}

// takeImpossible makes NaN of readings outside of what is possible; it returns
// how many, and the first.
func takeImpossible(column []float64, v value) (n int, first float64) {
	bounds := possible[v.unit.Quantity]
	for i, x := range column {
		if x < bounds.low || x > bounds.high {
			if n == 0 {
				first = x
			}
			n++
			column[i] = math.NaN()
		}
	}
	return n, first
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
