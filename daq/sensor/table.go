package sensor

import (
	"math"
	"slices"

	"holdbench/daq"
)

// Pair is one point of a table, SI.
type Pair struct{ Signal, Value float64 }

// Table is a row of at least two points, signals rising, values rising or
// falling strictly; between them it is straight, beyond them there is nothing.
type Table []Pair

var _ Conversion = Table{}

// Value interpolates. A signal beyond the ends is under or over range, by the
// side of the value.
func (t Table) Value(signal float64, _ Beside) (float64, daq.Health) {
	low, high := t.Signals()
	if h := outside(signal, low, high); h != daq.Healthy {
		if !t.rises() {
			h = flipped(h)
		}
		return math.NaN(), h
	}
	i, hit := slices.BinarySearchFunc(t, signal, func(p Pair, x float64) int { return compare(p.Signal, x) })
	if hit {
		return t[i].Value, daq.Healthy
	}
	a, b := t[i-1], t[i]
	return a.Value + (signal-a.Signal)/(b.Signal-a.Signal)*(b.Value-a.Value), daq.Healthy
}

// Signal interpolates the other way; NaN beyond the ends.
func (t Table) Signal(value float64, _ Beside) float64 {
	for i, b := range t[1:] {
		a := t[i]
		if between(value, a.Value, b.Value) {
			return a.Signal + (value-a.Value)/(b.Value-a.Value)*(b.Signal-a.Signal)
		}
	}
	return math.NaN()
}

// Signals are those of the first and last point.
func (t Table) Signals() (low, high float64) { return t[0].Signal, t[len(t)-1].Signal }

// Highest is the higher of the values at its ends.
func (t Table) Highest() float64 { return math.Max(t[0].Value, t[len(t)-1].Value) }

func (t Table) rises() bool { return t[len(t)-1].Value > t[0].Value }

// Bend is by how much, relative to itself, the slope at a value may be wrong
// that is taken from the straight piece between two points of a curve: half
// the largest difference between the slopes of neighbouring pieces that touch
// the values from low to high, over the smaller of the two. NaN ends are the
// table's own; 0 for two points.
func (t Table) Bend(low, high float64) float64 {
	var worst float64
	for i := 2; i < len(t); i++ {
		a, b := min(t[i-2].Value, t[i].Value), max(t[i-2].Value, t[i].Value)
		if b < low || a > high {
			continue
		}
		before := (t[i-1].Value - t[i-2].Value) / (t[i-1].Signal - t[i-2].Signal)
		after := (t[i].Value - t[i-1].Value) / (t[i].Signal - t[i-1].Signal)
		worst = max(worst, math.Abs(after-before)/2/min(math.Abs(before), math.Abs(after)))
	}
	return worst
}

func between(x, a, b float64) bool { return a <= x && x <= b || b <= x && x <= a }

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
