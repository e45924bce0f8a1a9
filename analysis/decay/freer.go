package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/fit"
)

// freer is a curve that may fall as it likes: Legendre polynomials over the
// hold, and tails.
type freer struct {
	duration float64
	degree   int
	tails    []tail
}

// tail is an exponential that dies away from t0, exp(−t/τ), or, late, one
// that grows towards t1, exp(−(t1−t)/τ); or, a hinge, a change of slope at the
// time τ after t0; or a creep over the logarithm of time, −ln(1 + t/τ); or a
// step at the time τ after t0.
type tail struct {
	tau                      float64
	late, hinge, creep, step bool
}

// at is the tail at a time after t0, and its derivative by ln τ.
func (k tail) at(t, duration float64) (value, slope float64) {
	if k.step {
		if t > k.tau {
			return 1, 0
		}
		return 0, 0
	}
	if k.hinge {
		if !(t > k.tau) {
			return 0, 0
		}
		return t - k.tau, -k.tau
	}
	if k.creep {
		return -math.Log1p(t / k.tau), t / (t + k.tau)
	}
	if k.late {
		t = duration - t
	}
	value = math.Exp(-t / k.tau)
	return value, value * t / k.tau
}

// values are the tail at times after t0.
func (k tail) values(dst, t []float64, duration float64) {
	for i, ti := range t {
		switch {
		case k.step || k.hinge || k.creep:
			dst[i], _ = k.at(ti, duration)
		case k.late:
			dst[i] = math.Exp(-(duration - ti) / k.tau)
		default:
			dst[i] = math.Exp(-ti / k.tau)
		}
	}
}

// slopes are the derivatives by ln τ at times after t0, from the values there.
func (k tail) slopes(dst, values, t []float64, duration float64) {
	for i, ti := range t {
		switch {
		case k.step || k.hinge || k.creep:
			_, dst[i] = k.at(ti, duration)
		case k.late:
			dst[i] = values[i] * (duration - ti) / k.tau
		default:
			dst[i] = values[i] * ti / k.tau
		}
	}
}

// places returns the curve's terms at times, polynomials first.
func (c freer) places(t []float64) [][]float64 {
	out := table(c.degree+1+len(c.tails), len(t))
	for i, ti := range t {
		x := 2*ti/c.duration - 1
		out[0][i], out[1][i] = 1, x
		for k := 2; k <= c.degree; k++ {
			n := float64(k)
			out[k][i] = ((2*n-1)*x*out[k-1][i] - (n-1)*out[k-2][i]) / n
		}
	}
	for k, tail := range c.tails {
		tail.values(out[c.degree+1+k], t, c.duration)
	}
	return out
}

// turns returns the derivatives of the tails by ln τ at times, from the tails
// there.
func (c freer) turns(tails [][]float64, t []float64) [][]float64 {
	out := table(len(c.tails), len(t))
	for k, tail := range c.tails {
		tail.slopes(out[k], tails[k], t, c.duration)
	}
	return out
}

// parameters is the number of what is fitted, that of the noise included.
func (c freer) parameters() int { return c.degree + 1 + 2*len(c.tails) + 1 }

// tailTries is how many points the search for time constants may try: lay
// takes what is left of the way to first order.
const tailTries = 12

// refined returns the curve with the time constants that suit the readings
// best; the curve itself where there are none or the search leaves
// shortest…longest of the duration; laid through them, with what it is at t0
// and t1, but for its memory. The search takes place in w.
func (c freer) refined(t, y []float64, w *fit.Workspace) shape {
	ends := []float64{0, c.duration}
	was := c.through(t, y, ends)
	if len(c.tails) == 0 {
		return was
	}
	start := make([]float64, len(c.tails))
	for k, tail := range c.tails {
		start[k] = math.Log(tail.tau)
	}
	s, err := fit.Separable(c.model(t), y, start, fit.Options{Sigma: 1, MaxIterations: tailTries, Workspace: w})
	if err != nil && len(s.Parameters) == 0 {
		return was
	}
	found := c.with(s.Parameters[c.degree+1+len(c.tails):])
	if !found.within() {
		return was
	}
	if better := found.through(t, y, ends); !(was.rss < better.rss) {
		return better
	}
	return was
}

// with returns the curve with those ln τ.
func (c freer) with(a []float64) freer {
	tails := make([]tail, len(c.tails))
	for k, old := range c.tails {
		tails[k] = old
		tails[k].tau = math.Exp(a[k])
	}
	c.tails = tails
	return c
}

func (c freer) within() bool {
	for _, k := range c.tails {
		shortest, longest := shortestTail, longestTail
		if k.hinge {
			shortest, longest = leastPhase, 1-leastPhase
		}
		if !(k.tau >= shortest*c.duration && k.tau <= longest*c.duration) {
			return false
		}
	}
	return true
}

func (c freer) model(t []float64) fit.SeparableModel {
	polynomials := freer{duration: c.duration, degree: c.degree}.places(t)
	return fit.SeparableModel{
		Linear: c.degree + 1 + len(c.tails), Nonlinear: len(c.tails),
		Basis: func(dst [][]float64, a []float64) {
			for k, column := range polynomials {
				copy(dst[k], column)
			}
			for k, tail := range c.tails {
				tail.tau = math.Exp(a[k])
				tail.values(dst[c.degree+1+k], t, c.duration)
			}
		},
		Slopes: func(dst, basis [][]float64, a, l []float64) {
			for k, tail := range c.tails {
				tail.tau = math.Exp(a[k])
				tail.slopes(dst[k], basis[c.degree+1+k], t, c.duration)
				floats.Scale(l[c.degree+1+k], dst[k])
			}
		},
	}
}

// shape is a freer curve laid through readings.
type shape struct {
	freer
	// terms are orthonormal over the readings; after these stand their values
	// at the places asked for.
	terms [][]float64
	coef  []float64
	// residuals and their standard deviation; rho, inflation, effective and
	// dof as of a law.
	residuals                      []float64
	std, rss                       float64
	rho, inflation, effective, dof float64
}

// lay lays the curve through readings, for the given τ and to first order
// about them, and says what it is at further times too.
func (c freer) lay(t, y, further []float64) shape {
	return c.through(t, y, further).remembering()
}

// remembering returns the shape with the memory of its residuals.
func (s shape) remembering() shape {
	m := fit.MemoryOf(s.residuals, len(s.terms))
	s.rho, s.inflation, s.effective, s.dof = m.Autocorrelation, m.Inflation, m.Effective, m.DegreesOfFreedom
	return s
}

// through is lay without the memory of what is left.
//
// Source: modified Gram–Schmidt, twice over (mark M).
func (c freer) through(t, y, further []float64) shape {
	n := len(t)
	all := append(append([]float64(nil), t...), further...)
	s := shape{freer: c, residuals: append([]float64(nil), y...)}
	columns := c.places(all)
	for _, column := range append(columns, c.turns(columns[c.degree+1:], all)...) {
		size := floats.Norm(column[:n], 2)
		for range 2 {
			for _, q := range s.terms {
				floats.AddScaled(column, -floats.Dot(q[:n], column[:n]), q)
			}
		}
		left := floats.Norm(column[:n], 2)
		if !(left > leastOwn*size) {
			continue
		}
		floats.Scale(1/left, column)
		k := floats.Dot(column[:n], s.residuals)
		floats.AddScaled(s.residuals, -k, column[:n])
		s.terms, s.coef = append(s.terms, column), append(s.coef, k)
	}
	s.rss = floats.Dot(s.residuals, s.residuals)
	s.std = math.Sqrt(s.rss / float64(max(n-len(s.terms), 1)))
	return s
}

// leastOwn is the share of a term that must be its own, or it is left out.
const leastOwn = 1e-7

// at returns the shape at a further time it was laid for, and the weights
// with which readings make it.
func (s shape) at(further int) (value float64, weights []float64) {
	n := len(s.residuals)
	weights = make([]float64, n)
	for _, q := range s.terms {
		floats.AddScaled(weights, q[n+further], q[:n])
	}
	return s.value(further), weights
}

// value returns the shape at a further time it was laid for.
func (s shape) value(further int) (value float64) {
	for k, q := range s.terms {
		value += q[len(s.residuals)+further] * s.coef[k]
	}
	return value
}
