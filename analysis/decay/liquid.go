package decay

import (
	"math"

	"holdbench/analysis/series"
)

// liquid is the liquid's temperature at the pressure readings' instants, as a
// linear function of uncorrelated parameters, so that the uncertainty of any
// weighted sum of it can be told.
type liquid struct {
	// at is T_f at each pressure reading, start is T_f at t0.
	at    []float64
	start float64
	// shapes[k][i] is ∂T_f(t_i)/∂parameter k, startShape[k] that of start;
	// variance and dof are the parameters'. None for temperatures as given.
	shapes     [][]float64
	startShape []float64
	variance   []float64
	dof        float64
	// startDoubt is the standard uncertainty of T_f(t0) because the probe's
	// past is not known, K; the last of shapes is what it does.
	startDoubt float64
	// noise of the probe (of a block mean) and quantum: see smooth.
	noise, resolution, quantum float64
	// sweep is how far the reading moved over the hold.
	sweep float64
}

// since returns Σ g_i·(T_f(t_i) − T_f(t0)).
func (l *liquid) since(g []float64) float64 {
	var total float64
	for i, w := range g {
		total += w * (l.at[i] - l.start)
	}
	return total
}

// shapesSince returns since for each of the parameters.
func (l *liquid) shapesSince(g []float64) []float64 {
	var weight float64
	for _, w := range g {
		weight += w
	}
	out := make([]float64, len(l.shapes))
	for k, shape := range l.shapes {
		out[k] = weightedSum(g, shape) - weight*l.startShape[k]
	}
	return out
}

// noiseOf returns the standard uncertainty of what has these derivatives by
// the parameters, from the probe's noise.
func (l *liquid) noiseOf(by []float64) float64 {
	var sum float64
	for k, d := range by {
		sum += l.variance[k] * d * d
	}
	return math.Sqrt(sum)
}

// resolutionOf returns the standard uncertainty of Σ g_i·(T_f(t_i) − T_f(t0))
// from the reading's resolution; spread as for stepsIn.
func (l *liquid) resolutionOf(spread float64) float64 {
	return stepsIn(spread, l.quantum, l.resolution, l.sweep)
}

// uncertaintyAt returns the standard uncertainty of T_f at reading i, noise
// and resolution.
func (l *liquid) uncertaintyAt(i int) float64 {
	sum := l.quantum * l.quantum
	for k, shape := range l.shapes {
		sum += l.variance[k] * shape[i] * shape[i]
	}
	return math.Sqrt(sum)
}

// change returns T_f at the last reading less T_f(t0), and its standard
// uncertainty.
func (l *liquid) change() (value, u float64) {
	last := len(l.at) - 1
	by := make([]float64, len(l.shapes))
	for k, shape := range l.shapes {
		by[k] = shape[last] - l.startShape[k]
	}
	return l.at[last] - l.start, math.Hypot(l.noiseOf(by), math.Sqrt2*l.quantum)
}

// asGiven takes temperatures as exact: the readings interpolated to t.
func asGiven(c series.Column, t []float64, start float64) *liquid {
	l := &liquid{at: make([]float64, len(t)), start: interpolate(c.Time, c.Value, start), dof: math.Inf(1)}
	for i, ti := range t {
		l.at[i] = interpolate(c.Time, c.Value, ti)
	}
	return l
}

// interpolate returns y at x along straight pieces, the end values outside.
// len(xs) == len(ys) > 0, xs rising.
func interpolate(xs, ys []float64, x float64) float64 {
	lo, hi := 0, len(xs)-1
	switch {
	case x <= xs[lo]:
		return ys[lo]
	case x >= xs[hi]:
		return ys[hi]
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; xs[mid] <= x {
			lo = mid
		} else {
			hi = mid
		}
	}
	return ys[lo] + (ys[hi]-ys[lo])*(x-xs[lo])/(xs[hi]-xs[lo])
}
