package decay

import (
	"errors"
	"math"

	"holdbench/analysis/fit"
)

// exponential is a laminar leak through a gap of constant size, out of a
// volume of constant stiffness, towards a sink's pressure:
//
//	p(t) = sink + h·exp(−t/τ)        parameters h and ln τ
//
// at constant temperature. Over a hold the leak goes by the pressure that is
// there, the drive above p: then p is less by v, τ·dv/dt = drive − v.
//
// A gap lets q = Δp/R through, R = 128·μ·L/(π·d⁴) for a round one; with the
// volume's C = −dV/dp follows τ = R·C.
//
// Source: Hagen–Poiseuille (mark M); C·dp/dt = −q (mark L).
var exponential = model{
	name: Exponential, title: "exponential", size: 2, aboveSink: true,
	fit: fitExponential, over: exponentialOver,
	at: func(c vector, x frame, t float64) function {
		left, share, by := c.left(x, t)
		return function{value: x.sink + c[0]*left, by: vector{left, c[0] * share * left}, bySink: 1, byThickening: -c[0] * left * by}
	},
	lost: func(c vector, x frame, t float64) function {
		left, share, by := c.left(x, t)
		gone := -math.Expm1(-share)
		f := function{value: c[0] * gone, by: vector{gone, -c[0] * share * left}, byThickening: c[0] * left * by}
		if x.drive != nil {
			v, w := x.drive.followed(math.Exp(-c[1]), x.clock)
			f.value += x.drive.at(v, t)
			f.by[1] += x.drive.at(w, t)
		}
		return f
	},
	rateAt: func(c vector, x frame, p float64) function {
		rate := math.Exp(-c[1])
		return function{value: rate * (p - x.sink), by: vector{0, -rate * (p - x.sink)}, bySink: -rate}
	},
	relative: func(c vector, _ frame) function {
		rate := math.Exp(-c[1])
		return function{value: rate, by: vector{0, -rate}}
	},
	thinned: func(c vector, x frame, t []float64) []float64 {
		out := make([]float64, len(t))
		for i, ti := range t {
			left, _, by := c.left(x, ti)
			out[i] = -c[0] * left * by
		}
		return out
	},
}

func exponentialOver(c vector, x frame, t []float64) (p []float64, by [][]float64) {
	by = table(2, len(t))
	p = make([]float64, len(t))
	rate := math.Exp(-c[1])
	for i, ti := range t {
		theta, _ := x.time(ti)
		share := theta * rate
		left := math.Exp(-share)
		p[i], by[0][i], by[1][i] = x.sink+c[0]*left, left, c[0]*share*left
	}
	if x.drive == nil {
		return p, by
	}
	v, w := x.drive.followed(math.Exp(-c[1]), x.clock)
	for i, ti := range t {
		p[i] -= x.drive.at(v, ti)
		by[1][i] -= x.drive.at(w, ti)
	}
	return p, by
}

// left is the share of the height that is left after t, t/τ, and the
// derivative of that by the viscosity's change.
func (c vector) left(x frame, t float64) (left, share, by float64) {
	theta, slope := x.time(t)
	rate := math.Exp(-c[1])
	return math.Exp(-theta * rate), theta * rate, slope * rate
}

// errNoFall says that there is no exponential through readings that do not
// fall towards the sink.
var errNoFall = errors.New("the compensated pressure does not fall towards the sink's")

// mostTries is how many points the search for an exponential may try.
const mostTries = 60

// fitExponential searches from the line's relative rate. Its errors are
// errNoFall and those of fit.Separable.
func fitExponential(t, p []float64, x frame) (c vector, unit matrix, err error) {
	b := averaged(t, p, x, fittedBlocks)
	rate, err := b.relativeFall()
	if err != nil {
		return c, unit, err
	}
	return b.separable(exponentialModel(b, x), -math.Log(rate))
}

// exponentialModel is h·exp(−t/τ) averaged over each block: about its mean
// time t, with the mean square s of the times about that,
//
//	mean exp(−t_i/τ) = exp(−t/τ)·(1 + s/(2τ²)) + third moments
//
// less what the drive makes of it.
func exponentialModel(b blocks, x frame) fit.SeparableModel {
	m := fit.SeparableModel{
		Linear: 1, Nonlinear: 1,
		Basis: func(dst [][]float64, a []float64) {
			b.tail(dst[0], math.Exp(-a[0]))
		},
		Slopes: func(dst, basis [][]float64, a, c []float64) {
			rate := math.Exp(-a[0])
			b.tailSlope(dst[0], basis[0], rate, c[0])
			if x.drive != nil {
				_, w := x.drive.followed(rate, x.clock)
				b.drop(dst[0], x.drive, w, 1)
			}
		},
	}
	if x.drive != nil {
		m.Offset = func(dst, a []float64) {
			v, _ := x.drive.followed(math.Exp(-a[0]), x.clock)
			clear(dst)
			b.drop(dst, x.drive, v, 1)
		}
	}
	return m
}
