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
	name: Exponential, title: "exponential", aboveSink: true,
	fit: fitExponential, over: exponentialOver,
	at: func(c pair, x frame, t float64) function {
		left, share := c.left(t)
		return function{value: x.sink + c[0]*left, by: pair{left, c[0] * share * left}, bySink: 1}
	},
	lost: func(c pair, x frame, t float64) function {
		left, share := c.left(t)
		gone := -math.Expm1(-share)
		f := function{value: c[0] * gone, by: pair{gone, -c[0] * share * left}}
		if x.drive != nil {
			v, w := x.drive.followed(math.Exp(-c[1]))
			f.value += x.drive.at(v, t)
			f.by[1] += x.drive.at(w, t)
		}
		return f
	},
	rateAt: func(c pair, x frame, p float64) function {
		rate := math.Exp(-c[1])
		return function{value: rate * (p - x.sink), by: pair{0, -rate * (p - x.sink)}, bySink: -rate}
	},
	relative: func(c pair, _ frame) function {
		rate := math.Exp(-c[1])
		return function{value: rate, by: pair{0, -rate}}
	},
}

func exponentialOver(c pair, x frame, t []float64) (p []float64, by [2][]float64) {
	p, by[0], by[1] = make([]float64, len(t)), make([]float64, len(t)), make([]float64, len(t))
	for i, ti := range t {
		left, share := c.left(ti)
		p[i], by[0][i], by[1][i] = x.sink+c[0]*left, left, c[0]*share*left
	}
	if x.drive == nil {
		return p, by
	}
	v, w := x.drive.followed(math.Exp(-c[1]))
	for i, ti := range t {
		p[i] -= x.drive.at(v, ti)
		by[1][i] -= x.drive.at(w, ti)
	}
	return p, by
}

// left is the share of the height that is left after t, and t/τ.
func (c pair) left(t float64) (left, share float64) {
	share = t * math.Exp(-c[1])
	return math.Exp(-share), share
}

// errNoFall says that there is no exponential through readings that do not
// fall towards the sink.
var errNoFall = errors.New("the compensated pressure does not fall towards the sink's")

// fittedBlocks is of how many readings the search for an exponential is made
// at most; more are averaged in blocks first, which costs a slope about
// 1/fittedBlocks² of its information. mostTries is how many points it may try.
const (
	fittedBlocks = 500
	mostTries    = 60
)

// fitExponential searches from the line's relative rate. Its errors are
// errNoFall and those of fit.Separable.
func fitExponential(t, p []float64, x frame) (c pair, unit [2]pair, err error) {
	b := averaged(t, p, x.sink, fittedBlocks)
	start, err := b.start()
	if err != nil {
		return c, unit, err
	}
	s, err := fitSeparable(b, x.drive, start)
	if err != nil {
		return c, unit, err
	}
	for i := range unit {
		for j := range unit[i] {
			unit[i][j] = s.Covariance.At(i, j)
		}
	}
	return pair{s.Parameters[0], s.Parameters[1]}, unit, nil
}

func fitSeparable(b blocks, d *drive, start float64) (fit.Solution, error) {
	return fit.Separable(b.model(d), b.height, []float64{start}, fit.Options{Sigma: 1, MaxIterations: mostTries})
}

// blocks are means of successive readings, each row multiplied by the root of
// the number of its readings, so that all rows have the noise of one reading.
type blocks struct {
	// t is the mean time, spread the mean square of the times about it.
	t, spread []float64
	// height is the mean pressure above the sink, times root.
	height, root []float64
}

// averaged makes at most that many blocks of equal size, the last one
// smaller where they do not come out even.
func averaged(t, p []float64, sink float64, most int) blocks {
	var b blocks
	size := (len(t) + most - 1) / most
	for i := 0; i < len(t); i += size {
		end := min(i+size, len(t))
		n := float64(end - i)
		middle, height := mean(t[i:end]), 0.0
		_, square := aboutMiddle(t[i:end], middle)
		for _, v := range p[i:end] {
			height += v - sink
		}
		b.t, b.spread = append(b.t, middle), append(b.spread, square/n)
		b.root, b.height = append(b.root, math.Sqrt(n)), append(b.height, height/math.Sqrt(n))
	}
	return b
}

// start is ln τ of the straight line through the blocks.
func (b blocks) start() (float64, error) {
	height := make([]float64, len(b.t))
	for i := range height {
		height[i] = b.height[i] / b.root[i]
	}
	w, _ := slopeWeights(b.t)
	slope, level := weighted(w, height), mean(height)
	if !(slope < 0 && level > 0) {
		return 0, errNoFall
	}
	return math.Log(-level / slope), nil
}

// model is h·exp(−t/τ) averaged over each block: about its mean time t, with
// the mean square s of the times about that,
//
//	mean exp(−t_i/τ) = exp(−t/τ)·(1 + s/(2τ²)) + third moments
//
// less what the drive makes of it.
func (b blocks) model(d *drive) fit.SeparableModel {
	m := fit.SeparableModel{
		Linear: 1, Nonlinear: 1,
		Basis: func(dst [][]float64, a []float64) {
			rate := math.Exp(-a[0])
			for i, t := range b.t {
				dst[0][i] = b.root[i] * math.Exp(-rate*t) * (1 + rate*rate*b.spread[i]/2)
			}
		},
		Slopes: func(dst, basis [][]float64, a, c []float64) {
			rate := math.Exp(-a[0])
			for i, t := range b.t {
				s := rate * rate * b.spread[i]
				dst[0][i] = c[0] * basis[0][i] * (rate*t - s/(1+s/2))
			}
			if d != nil {
				_, w := d.followed(rate)
				for i, t := range b.t {
					dst[0][i] -= b.root[i] * d.at(w, t)
				}
			}
		},
	}
	if d != nil {
		m.Offset = func(dst, a []float64) {
			v, _ := d.followed(math.Exp(-a[0]))
			for i, t := range b.t {
				dst[i] = -b.root[i] * d.at(v, t)
			}
		}
	}
	return m
}
