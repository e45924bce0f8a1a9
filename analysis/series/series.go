// Package series knows the plain table of readings that recordings yield,
// decay fits take and figures draw: columns of numbers, each with its own
// times, because instruments keep their own pace.
//
// Conventions: times are seconds since the start of the recording, strictly
// increasing within a column; values are SI; a reading that did not come or
// was not healthy is NaN in its place. Columns are never resampled here.
package series

import (
	"math"
	"sort"

	"holdbench/analysis/si"
)

// Column is one channel's readings. len(Time) == len(Value); Time in s,
// strictly increasing; Value in the SI unit of Quantity, NaN where the
// instrument was asked and no valid reading came.
type Column struct {
	Name     string
	Quantity si.Quantity
	Time     []float64
	Value    []float64
}

// Len returns the number of places in the column, NaN included.
func (c Column) Len() int { return len(c.Time) }

// Window returns the part of the column with from ≤ time ≤ to (s); it is empty
// for a NaN. The result shares memory with c, but appending to it leaves c as
// it is.
func (c Column) Window(from, to float64) Column {
	lo := sort.SearchFloat64s(c.Time, from)
	hi := sort.Search(len(c.Time), func(i int) bool { return !(c.Time[i] <= to) })
	if hi < lo {
		hi = lo
	}
	return Column{Name: c.Name, Quantity: c.Quantity, Time: c.Time[lo:hi:hi], Value: c.Value[lo:hi:hi]}
}

// Valid returns the column without its NaN places: a copy, or c itself where
// there are none.
func (c Column) Valid() Column {
	valid := 0
	for _, v := range c.Value {
		if !math.IsNaN(v) {
			valid++
		}
	}
	if valid == len(c.Value) {
		return c
	}
	out := Column{Name: c.Name, Quantity: c.Quantity}
	out.Time, out.Value = make([]float64, 0, valid), make([]float64, 0, valid)
	for i, v := range c.Value {
		if !math.IsNaN(v) {
			out.Time = append(out.Time, c.Time[i])
			out.Value = append(out.Value, v)
		}
	}
	return out
}

// Series is a table of columns, in the order of the recording's channels.
type Series struct {
	Columns []Column
}

// Column returns the column of that name and whether there is one.
func (s Series) Column(name string) (Column, bool) {
	for _, c := range s.Columns {
		if c.Name == name {
			return c, true
		}
	}
	return Column{}, false
}
