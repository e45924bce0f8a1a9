package decay

import (
	"holdbench/analysis/fit"
)

// straight is the straight line, a leak that does not change:
//
//	p(t) = c0 + c1·(t − middle)
//
// about the readings' mean time, where level and slope are uncorrelated.
//
// Source: [1] H.3.
var straight = model{
	name: Line, title: "straight line", size: 2,
	fit: func(t, p []float64, x frame) (c vector, unit matrix, err error) {
		lin, err := fit.Line(t, p)
		if err != nil {
			return c, unit, err
		}
		level, _ := lin.At(x.middle)
		_, square := aboutMiddle(t, x.middle)
		return vector{level, lin.Coefficients[1]}, matrix{{1 / float64(len(t))}, {0, 1 / square}}, nil
	},
	over: func(c vector, x frame, t []float64) (p []float64, by [][]float64) {
		by = make([][]float64, 2)
		p, by[0] = make([]float64, len(t)), make([]float64, len(t))
		by[1], _ = aboutMiddle(t, x.middle)
		for i, from := range by[1] {
			p[i], by[0][i] = c[0]+c[1]*from, 1
		}
		return p, by
	},
	at: func(c vector, x frame, t float64) function {
		return function{value: c[0] + c[1]*(t-x.middle), by: vector{1, t - x.middle}}
	},
	lost: func(c vector, _ frame, t float64) function {
		return function{value: -c[1] * t, by: vector{0, -t}}
	},
	rateAt: func(c vector, _ frame, _ float64) function {
		return function{value: -c[1], by: vector{0, -1}}
	},
	relative: func(c vector, x frame) function {
		height := c[0] + x.above() - x.sink
		rate := -c[1] / height
		return function{value: rate, by: vector{-rate / height, -1 / height}, bySink: rate / height}
	},
}

// straightLine lays a line alone. len(t) == len(p) ≥ 3; errors as fit.Line.
func straightLine(t, p []float64) (*law, error) {
	return straight.lay(t, p, frame{middle: mean(t)})
}

func mean(t []float64) float64 {
	var sum float64
	for _, v := range t {
		sum += v
	}
	return sum / float64(len(t))
}

// aboutMiddle returns t − middle and the sum of its squares.
func aboutMiddle(t []float64, middle float64) (from []float64, square float64) {
	from = make([]float64, len(t))
	for i, v := range t {
		from[i] = v - middle
		square += from[i] * from[i]
	}
	return from, square
}

// inflated carries the standard uncertainty of a mean or a slope from
// independent noise to autocorrelated noise.
func inflated(u, inflation float64) float64 {
	u *= inflation
	return u
}

// slopeWeights returns w with Σ w_i·y_i the least squares slope of y over t.
//
// Source: [1] H.3.2, eq. H.13b rearranged.
func slopeWeights(t []float64) (w []float64, middle float64) {
	middle = mean(t)
	w, square := aboutMiddle(t, middle)
	for i := range w {
		w[i] /= square
	}
	return w, middle
}
