package decay

import (
	"errors"
	"math"

	"holdbench/analysis/fit"
)

// above is a laminar leak through something that closes when the pressure
// has fallen to P:
//
//	p(t) = P + d·exp(−t/τ)        parameters P, d and ln τ
//
// driven as the exponential is. A settling has the same course: only where
// that is known can the two be told apart.
var above = model{
	name: Above, title: "leak that closes at a pressure", size: 3, searched: freerBy,
	fit: fitAbove,
	over: func(c vector, x frame, t []float64) (p []float64, by [][]float64) {
		p, tail := exponentialOver(c.closing(), x.from(c), t)
		by = append(table(1, len(t)), tail...)
		for i := range by[0] {
			by[0][i] = 1
		}
		return p, by
	},
	at: func(c vector, x frame, t float64) function {
		f := exponential.at(c.closing(), x.from(c), t).shifted()
		f.by[0], f.bySink = 1, 0
		return f
	},
	lost: func(c vector, x frame, t float64) function {
		return exponential.lost(c.closing(), x.from(c), t).shifted()
	},
	rateAt: func(c vector, x frame, p float64) function {
		if !(p > c[0]) {
			return function{}
		}
		f := exponential.rateAt(c.closing(), x.from(c), p).shifted()
		f.by[0], f.bySink = f.bySink, 0
		return f
	},
	relative: func(c vector, x frame) function {
		left, share, _ := c.closing().left(x, x.middle)
		rate := math.Exp(-c[2])
		height, lost := c[0]+c[1]*left+x.above()-x.sink, c[1]*left*rate
		out := lost / height
		slope := left / height * (1 - c[1]*left/height)
		return function{value: out, bySink: out / height, by: vector{
			-out / height, rate * slope, out * (share - 1 - c[1]*left*share/height)}}
	},
	thinned: func(c vector, x frame, t []float64) []float64 {
		return exponential.thinned(c.closing(), x.from(c), t)
	},
}

// closing are height and ln τ of the exponential towards the pressure at
// which a leak closes.
func (c vector) closing() vector { return vector{c[1], c[2]} }

// from is the frame with that pressure for its sink.
func (x frame) from(c vector) frame {
	x.sink = c[0]
	return x
}

// shifted makes room for one parameter before the others.
func (f function) shifted() function {
	copy(f.by[1:], append([]float64(nil), f.by[:]...))
	f.by[0] = 0
	return f
}

// A leak that closes does so within the hold: its time constant is at most
// slowestClosing of it, and what is left of it at the end too little to be
// the exponential towards the sink.
const slowestClosing = 1.0

var errNotClosing = errors.New("nothing closes within the hold")

// fitAbove searches from a third of the hold. Its errors are errNotClosing and
// those of fit.Separable.
func fitAbove(t, p []float64, x frame) (c vector, unit matrix, err error) {
	sink := x.sink
	x.sink = 0
	b, length := averaged(t, p, x, fittedBlocks), t[len(t)-1]
	c, unit, err = b.separable(aboveModel(b, x), math.Log(length/3))
	if err == nil && !(c[1] > 0 && c[0] > sink && math.Exp(c[2]) < slowestClosing*length) {
		err = errNotClosing
	}
	return c, unit, err
}

func aboveModel(b blocks, x frame) fit.SeparableModel {
	inner := exponentialModel(b, x)
	return fit.SeparableModel{
		Linear: 2, Nonlinear: 1, Offset: inner.Offset,
		Basis: func(dst [][]float64, a []float64) {
			copy(dst[0], b.root)
			inner.Basis(dst[1:], a)
		},
		Slopes: func(dst, basis [][]float64, a, c []float64) {
			inner.Slopes(dst, basis[1:], a, c[1:])
		},
	}
}
