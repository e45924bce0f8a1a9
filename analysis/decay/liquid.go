package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/series"
)

// liquid is the liquid's temperature at the pressure readings' instants, as a
// linear function of uncorrelated parameters, so that the uncertainty of any
// weighted sum of it can be told.
type liquid struct {
	// at is T_f at each pressure reading, start is T_f at t0.
	at    []float64
	start float64
	// parts have the parameters; none for temperatures as given. dof is that
	// of their variances.
	parts []part
	dof   float64
	// startDoubt is the standard uncertainty of T_f(t0) because the probe's
	// past is not known, K; fades is what is left of it at each reading.
	startDoubt float64
	fades      []float64
	// noise of the probe (of a block mean) and quantum: see smooth.
	noise, resolution, quantum float64
	// sweep is how far the reading moved over the hold.
	sweep float64
}

// part is a set of uncorrelated parameters that T_f is linear in.
type part interface {
	// by returns the derivatives of Σ g_i·(T_f(t_i) − T_f(t0)) by the
	// parameters, each in units of its standard uncertainty; sum is Σ g.
	by(g []float64, sum float64) []float64
	// squareAt is the variance of T_f at reading i.
	squareAt(i int) float64
}

// dense is a part with few parameters: shapes[k][i] is ∂T_f(t_i)/∂parameter k,
// startShape[k] that of T_f(t0).
type dense struct {
	shapes     [][]float64
	startShape []float64
	variance   []float64
}

func (d dense) by(g []float64, sum float64) []float64 {
	out := make([]float64, len(d.shapes))
	for k, shape := range d.shapes {
		out[k] = math.Sqrt(d.variance[k]) * (weightedSum(g, shape) - sum*d.startShape[k])
	}
	return out
}

func (d dense) squareAt(i int) (sum float64) {
	for k, shape := range d.shapes {
		sum += d.variance[k] * shape[i] * shape[i]
	}
	return sum
}

// since returns Σ g_i·(T_f(t_i) − T_f(t0)).
func (l *liquid) since(g []float64) float64 {
	var total float64
	for i, w := range g {
		total += w * (l.at[i] - l.start)
	}
	return total
}

// shapesSince returns the derivatives of since by all parameters, each in
// units of its standard uncertainty.
func (l *liquid) shapesSince(g []float64) (out []float64) {
	sum := floats.Sum(g)
	for _, p := range l.parts {
		out = append(out, p.by(g, sum)...)
	}
	return out
}

// doubtBeside is the expected sum of squares of T_f's error at the readings
// beside orthonormal columns, of which one is constant or nearly so: of
// parameters fitted without a prior, and of a spline's.
func (l *liquid) doubtBeside(columns [][]float64) (classical, berkson float64) {
	for _, p := range l.parts {
		var sum float64
		for i := range l.at {
			sum += p.squareAt(i)
		}
		for _, q := range columns {
			sum -= square(floats.Norm(p.by(q, 0), 2))
		}
		if isLocal(p) {
			berkson += max(sum, 0)
		} else {
			classical += max(sum, 0)
		}
	}
	return classical, berkson
}

func isLocal(p part) bool {
	if scaled, ok := p.(scaledPart); ok {
		p = scaled.part
	}
	switch p.(type) {
	case *localPart, leadPart:
		return true
	}
	return false
}

// fadesSince is what a start warmer by 1 K adds to since.
func (l *liquid) fadesSince(g []float64) float64 {
	if l.fades == nil {
		return 0
	}
	return weightedSum(g, l.fades) - floats.Sum(g)
}

// noiseOf returns the standard uncertainty of what has these derivatives by
// the parameters, from the probe's noise.
func (l *liquid) noiseOf(by []float64) float64 { return floats.Norm(by, 2) }

// resolutionOf returns the standard uncertainty of Σ g_i·(T_f(t_i) − T_f(t0))
// from the reading's resolution; spread as for stepsIn.
func (l *liquid) resolutionOf(spread float64) float64 {
	return stepsIn(spread, l.quantum, l.resolution, l.sweep)
}

// uncertaintyAt returns the standard uncertainty of T_f at reading i, noise
// and resolution.
func (l *liquid) uncertaintyAt(i int) float64 {
	sum := l.quantum * l.quantum
	for _, p := range l.parts {
		sum += p.squareAt(i)
	}
	return math.Sqrt(sum)
}

// change returns T_f at the last reading less T_f(t0), and its standard
// uncertainty.
func (l *liquid) change() (value, u float64) {
	last := len(l.at) - 1
	g := make([]float64, len(l.at))
	g[last] = 1
	return l.at[last] - l.start, math.Hypot(l.noiseOf(l.shapesSince(g)), math.Sqrt2*l.quantum)
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
