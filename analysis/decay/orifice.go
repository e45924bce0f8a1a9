package decay

import (
	"errors"
	"math"

	"holdbench/analysis/fit"
)

// orifice is a leak through a sharp hole, out of a volume of constant
// stiffness, towards a sink's pressure: q = k·√(p − sink) makes
//
//	p(t) = sink + h·(1 − κt/2)²      parameters h and ln κ,  κ = k/(C·√h)
//
// at constant temperature, until it is empty at κt = 2: √(p − sink) falls
// along a straight line. Over a hold the leak goes by the pressure that is
// there; to first order p is less by v, dv/dt = r·(drive − v), with r the
// relative rate κ/2 over 1 − κt/2 in the hold's middle. The viscosity plays no
// part.
//
// Source: Torricelli's law (mark M); C·dp/dt = −q (mark L).
var orifice = model{
	name: Orifice, title: "orifice's parabola", size: 2, aboveSink: true,
	fit: fitOrifice, over: orificeOver,
	at: func(c vector, x frame, t float64) function {
		full, slope := c.opened(t)
		return function{value: x.sink + c[0]*full*full, by: vector{full * full, 2 * c[0] * full * slope}, bySink: 1}
	},
	lost: func(c vector, x frame, t float64) function {
		full, slope := c.opened(t)
		f := function{value: c[0] * (1 - full*full), by: vector{1 - full*full, -2 * c[0] * full * slope}}
		if x.drive != nil {
			rate, more := c.easing(x)
			v, w := x.drive.followed(rate, nil)
			f.value += x.drive.at(v, t)
			f.by[1] -= more * x.drive.at(w, t)
		}
		return f
	},
	rateAt: func(c vector, x frame, p float64) function {
		height := p - x.sink
		if !(height > 0) || !(c[0] > 0) {
			return function{}
		}
		rate := math.Exp(c[1]) * math.Sqrt(c[0]*height)
		return function{value: rate, by: vector{rate / (2 * c[0]), rate}, bySink: -rate / (2 * height)}
	},
	relative: func(c vector, x frame) function {
		full, slope := c.opened(x.middle)
		rate := math.Exp(c[1]) / full
		return function{value: rate, by: vector{0, rate * (1 - slope/full)}}
	},
}

// opened is 1 − κt/2, not below 0, and its derivative by ln κ.
func (c vector) opened(t float64) (full, slope float64) {
	return openedAt(math.Exp(c[1]) * t / 2)
}

// openedAt is opened at κt/2.
func openedAt(half float64) (full, slope float64) {
	if half >= 1 {
		return 0, 0
	}
	return 1 - half, -half
}

// easing is the rate at which an orifice answers to a drive, and its
// derivative by ln κ over itself.
func (c vector) easing(x frame) (rate, more float64) {
	full, _ := c.opened(x.middle)
	full = max(full, leastFull)
	return math.Exp(c[1]) / 2 / full, 1 / full
}

// leastFull is what is taken to be left of √(p − sink) at least where an
// orifice's answer to a drive is asked for.
const leastFull = 0.05

func orificeOver(c vector, x frame, t []float64) (p []float64, by [][]float64) {
	by = table(2, len(t))
	p = make([]float64, len(t))
	half := math.Exp(c[1]) / 2
	for i, ti := range t {
		full, slope := openedAt(half * ti)
		p[i], by[0][i], by[1][i] = x.sink+c[0]*full*full, full*full, 2*c[0]*full*slope
	}
	if x.drive == nil {
		return p, by
	}
	rate, more := c.easing(x)
	v, w := x.drive.followed(rate, nil)
	for i, ti := range t {
		p[i] -= x.drive.at(v, ti)
		by[1][i] += more * x.drive.at(w, ti)
	}
	return p, by
}

// errEmpty says that there is no orifice's course through readings that
// go on after it would be empty.
var errEmpty = errors.New("it would have run empty before the hold's end")

// fitOrifice searches from the line's relative rate. Its errors are
// errNoFall, errEmpty and those of fit.Separable.
func fitOrifice(t, p []float64, x frame) (c vector, unit matrix, err error) {
	x.clock = nil
	b := averaged(t, p, x, fittedBlocks)
	rate, err := b.relativeFall()
	if err != nil {
		return c, unit, err
	}
	last := t[len(t)-1]
	start := rate / (1 + rate*x.middle/2)
	if c, unit, err = b.separable(orificeModel(b, x), math.Log(min(start, 1.9/last))); err != nil {
		return c, unit, err
	}
	if full, _ := c.opened(last); !(full > 0) {
		return c, unit, errEmpty
	}
	return c, unit, nil
}

func orificeModel(b blocks, x frame) fit.SeparableModel {
	m := fit.SeparableModel{
		Linear: 1, Nonlinear: 1,
		Basis: func(dst [][]float64, a []float64) {
			kappa := math.Exp(a[0])
			for i, t := range b.t {
				full, _ := openedAt(kappa * t / 2)
				dst[0][i] = b.root[i] * (full*full + kappa*kappa*b.spread[i]/4)
			}
		},
		Slopes: func(dst, _ [][]float64, a, l []float64) {
			c := vector{1, a[0]}
			kappa := math.Exp(a[0])
			for i, t := range b.t {
				full, slope := openedAt(kappa * t / 2)
				dst[0][i] = l[0] * b.root[i] * (2*full*slope + kappa*kappa*b.spread[i]/2)
			}
			if x.drive != nil {
				rate, more := c.easing(x)
				_, w := x.drive.followed(rate, nil)
				b.drop(dst[0], x.drive, w, -more)
			}
		},
	}
	if x.drive != nil {
		m.Offset = func(dst, a []float64) {
			rate, _ := vector{1, a[0]}.easing(x)
			v, _ := x.drive.followed(rate, nil)
			clear(dst)
			b.drop(dst, x.drive, v, 1)
		}
	}
	return m
}
