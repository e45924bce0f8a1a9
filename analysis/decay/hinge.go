package decay

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/fit"
)

// below is a leak that opens, or grows, once the pressure has fallen to some
// value, at the time ts:
//
//	p(t) = c0 + c1·(t − middle) + c2·max(0, t − ts),  c2 < 0
//
// Seats often leak more at a low pressure than at a high one.
var below = model{
	name: Below, title: "leak that opens below a pressure", size: 4, searched: freerBy,
	fit: func(t, p []float64, x frame) (c vector, unit matrix, err error) {
		c, unit, err = hinged(t, p, x, 1)
		if err == nil && !(c[2] < 0) {
			err = errNoHinge
		}
		return c, unit, err
	},
	over: hingedOver(1), at: hingedAt(1), lost: hingedLost(1), relative: hingedRelative(1),
	rateAt: func(c vector, x frame, p float64) function {
		f := function{value: -c[1], by: vector{0, -1}}
		if p < hingedAt(1)(c, x, c[3]).value {
			f.value, f.by[2] = f.value-c[2], -1
		}
		return f
	},
}

// intermittent is a leak that comes, or grows, at the time ta and goes at tb,
// or the other way about:
//
//	p(t) = c0 + c1·(t − middle) + c2·(max(0, t − ta) − max(0, t − tb))
var intermittent = model{
	name: Intermittent, title: "leak that comes and goes", size: 5, within: true, searched: freerBy,
	fit:  func(t, p []float64, x frame) (vector, matrix, error) { return hinged(t, p, x, 2) },
	over: hingedOver(2), at: hingedAt(2), lost: hingedLost(2), relative: hingedRelative(2),
	rateAt: func(c vector, x frame, _ float64) function { // the mean over the hold
		return hingedLost(2)(c, x, 2*x.middle).times(1 / (2 * x.middle))
	},
}

// extra is how much of the second rate's time has passed at t, s, and its
// derivatives by the instants of change.
func (c vector) extra(t float64, hinges int) (passed float64, by [2]float64) {
	for k := range hinges {
		sign := 1 - 2*float64(k)
		if over := t - c[3+k]; over > 0 {
			passed += sign * over
			by[k] = -sign
		}
	}
	return passed, by
}

func hingedOver(hinges int) func(c vector, x frame, t []float64) ([]float64, [][]float64) {
	return func(c vector, x frame, t []float64) (p []float64, by [][]float64) {
		by, p = table(3+hinges, len(t)), make([]float64, len(t))
		for i, ti := range t {
			f := hingedAt(hinges)(c, x, ti)
			p[i] = f.value
			for j := range by {
				by[j][i] = f.by[j]
			}
		}
		return p, by
	}
}

func hingedAt(hinges int) func(c vector, x frame, t float64) function {
	return func(c vector, x frame, t float64) function {
		passed, by := c.extra(t, hinges)
		return function{value: c[0] + c[1]*(t-x.middle) + c[2]*passed,
			by: vector{1, t - x.middle, passed, c[2] * by[0], c[2] * by[1]}}
	}
}

func hingedLost(hinges int) func(c vector, x frame, t float64) function {
	return func(c vector, _ frame, t float64) function {
		passed, by := c.extra(t, hinges)
		return function{value: -c[1]*t - c[2]*passed, by: vector{0, -t, -passed, -c[2] * by[0], -c[2] * by[1]}}
	}
}

// hingedRelative is the mean loss rate over the hold, over the height in its
// middle.
func hingedRelative(hinges int) func(c vector, x frame) function {
	return func(c vector, x frame) function {
		lost := hingedLost(hinges)(c, x, 2*x.middle).times(1 / (2 * x.middle))
		at := hingedAt(hinges)(c, x, x.middle)
		height := at.value + x.above() - x.sink
		out := lost.times(1 / height)
		for j := range out.by {
			out.by[j] -= out.value / height * at.by[j]
		}
		out.bySink = out.value / height
		return out
	}
}

var errNoHinge = errors.New("it changes at no time within the hold")

const (
	// hingeSteps is at how many times within the hold a change is sought
	// first, hingeBlocks over how many means.
	hingeSteps, hingeBlocks = 24, 120
	// A change lies within the hold, and two of them so far apart.
	leastPhase = 1.0 / 50
)

// hinged seeks the instants of change on a grid and then between. Its errors
// are errNoHinge and those of fit.Separable.
func hinged(t, p []float64, x frame, hinges int) (c vector, unit matrix, err error) {
	if len(t) < fewestShaped {
		return c, unit, errNoHinge
	}
	x.clock, x.sink = nil, 0
	b, length := averaged(t, p, x, fittedBlocks), t[len(t)-1]
	start := b.bestHinges(length, hinges)
	if start == nil {
		return c, unit, errNoHinge
	}
	if c, unit, err = b.separable(hingedModel(b, x, hinges), start...); err != nil {
		return c, unit, err
	}
	first, last := c[3], c[2+hinges]
	if !(first > leastPhase*length && last < (1-leastPhase)*length) || hinges == 2 && !(last-first > leastPhase*length) {
		return c, unit, errNoHinge
	}
	return c, unit, nil
}

// bestHinges returns the times on the grid that leave least.
func (b blocks) bestHinges(length float64, hinges int) []float64 {
	columns := [][]float64{append([]float64(nil), b.root...), make([]float64, len(b.t))}
	left := append([]float64(nil), b.height...)
	times := make([]float64, hingeSteps)
	for i, t := range b.t {
		columns[1][i] = b.root[i] * (t/length - 0.5)
	}
	for k := range times {
		times[k] = length * float64(k+1) / (hingeSteps + 1)
		column := make([]float64, len(b.t))
		b.hinge(column, times[k], 1)
		columns = append(columns, column)
	}
	orthonormal(columns[:2])
	columns, base := columns[2:], columns[:2]
	for _, q := range base {
		for _, v := range append(columns, left) {
			floats.AddScaled(v, -floats.Dot(q, v), q)
		}
	}
	own, with := make([]float64, len(columns)), make([]float64, len(columns))
	for k, v := range columns {
		own[k], with[k] = floats.Dot(v, v), floats.Dot(v, left)
	}
	var best []float64
	most := 0.0
	for k := range columns {
		if hinges == 1 {
			if gain := with[k] * with[k] / own[k]; gain > most {
				most, best = gain, []float64{times[k]}
			}
			continue
		}
		for j := k + 1; j < len(columns); j++ {
			size := own[k] + own[j] - 2*floats.Dot(columns[k], columns[j])
			if gain := (with[k] - with[j]) * (with[k] - with[j]) / size; gain > most {
				most, best = gain, []float64{times[k], times[j]}
			}
		}
	}
	return best
}

// hinge adds k·max(0, t − at), averaged over each block, to dst.
func (b blocks) hinge(dst []float64, at, k float64) {
	for i, t := range b.t {
		over, half := t-at, math.Sqrt(3*b.spread[i])
		switch {
		case over >= half:
			dst[i] += k * b.root[i] * over
		case over > -half:
			dst[i] += k * b.root[i] * (over + half) * (over + half) / (4 * half)
		}
	}
}

// hingeSlope adds the derivative of k·hinge by the time to dst.
func (b blocks) hingeSlope(dst []float64, at, k float64) {
	for i, t := range b.t {
		over, half := t-at, math.Sqrt(3*b.spread[i])
		switch {
		case over >= half:
			dst[i] -= k * b.root[i]
		case over > -half:
			dst[i] -= k * b.root[i] * (over + half) / (2 * half)
		}
	}
}

func hingedModel(b blocks, x frame, hinges int) fit.SeparableModel {
	return fit.SeparableModel{
		Linear: 3, Nonlinear: hinges,
		Basis: func(dst [][]float64, a []float64) {
			copy(dst[0], b.root)
			clear(dst[2])
			for i, t := range b.t {
				dst[1][i] = b.root[i] * (t - x.middle)
			}
			for k, at := range a {
				b.hinge(dst[2], at, 1-2*float64(k))
			}
		},
		Slopes: func(dst, _ [][]float64, a, c []float64) {
			for k, at := range a {
				clear(dst[k])
				b.hingeSlope(dst[k], at, c[2]*(1-2*float64(k)))
			}
		},
	}
}
