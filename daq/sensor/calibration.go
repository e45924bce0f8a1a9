package sensor

import (
	"math"
	"sort"

	"holdbench/analysis/si"
)

// Point is one comparison with a reference, SI.
type Point struct{ Reference, Indicated float64 }

// Correct returns the value that the reference would have shown where the
// channel indicates x: the correction Reference − Indicated is interpolated
// between the points and is that of the end point outside. Points are in
// rising order of Indicated; without points x is returned.
func Correct(points []Point, x float64) float64 {
	if len(points) == 0 {
		return x
	}
	i := sort.Search(len(points), func(i int) bool { return points[i].Indicated >= x })
	switch i {
	case 0:
		return x + points[0].correction()
	case len(points):
		return x + points[len(points)-1].correction()
	}
	a, b := points[i-1], points[i]
	part := (x - a.Indicated) / (b.Indicated - a.Indicated)
	return x + a.correction() + part*(b.correction()-a.correction())
}

func (p Point) correction() float64 { return p.Reference - p.Indicated }

// CorrectionCurve is a certificate's polynomial: the reference, in Unit, is
//
//	c0 + c1·x + c2·x² + …
//
// where the channel indicates x, in Unit. It holds for indications from Low to
// High, SI; outside it the correction of the nearer end stands.
type CorrectionCurve struct {
	Coefficients []float64
	Unit         si.Unit
	Low, High    float64
}

// Correct returns the value that the reference would have shown where the
// channel indicates x, both SI.
func (c *CorrectionCurve) Correct(x float64) float64 {
	within := min(max(x, c.Low), c.High)
	at := c.Unit.FromSI(within)
	reference := 0.0
	for i := len(c.Coefficients) - 1; i >= 0; i-- {
		reference = reference*at + c.Coefficients[i]
	}
	corrected := c.Unit.ToSI(reference)
	if within == x {
		return corrected
	}
	return x + (corrected - within)
}

// Rises says whether a higher indication always means a higher reference, at a
// hundred steps over the span: a correction that turns is none.
func (c *CorrectionCurve) Rises() bool {
	const steps = 100
	last := math.Inf(-1)
	for i := 0; i <= steps; i++ {
		y := c.Correct(c.Low + (c.High-c.Low)*float64(i)/steps)
		if !(y > last) {
			return false
		}
		last = y
	}
	return true
}

// Indicated is the inverse of Correct.
func Indicated(points []Point, value float64) float64 {
	if len(points) == 0 {
		return value
	}
	i := sort.Search(len(points), func(i int) bool { return points[i].Reference >= value })
	switch i {
	case 0:
		return value - points[0].correction()
	case len(points):
		return value - points[len(points)-1].correction()
	}
	a, b := points[i-1], points[i]
	part := (value - a.Reference) / (b.Reference - a.Reference)
	return value - a.correction() - part*(b.correction()-a.correction())
}

// Indicated is the inverse of Correct, found by halving to the last digit; the
// curve must rise.
func (c *CorrectionCurve) Indicated(value float64) float64 {
	low, high := c.Low, c.High
	switch atLow, atHigh := c.Correct(low), c.Correct(high); {
	case value <= atLow:
		return value + (low - atLow)
	case value >= atHigh:
		return value + (high - atHigh)
	}
	for {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			return middle
		}
		if c.Correct(middle) < value {
			low = middle
		} else {
			high = middle
		}
	}
}
