package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"holdbench/analysis/fit"
)

// The names of the laws, as in results.
const (
	Line         = "line"
	Exponential  = "exponential"
	Orifice      = "orifice"
	None         = "none"
	Above        = "above"
	Below        = "below"
	Intermittent = "intermittent"
)

// models is the one table of decay laws: how a leak lets the pressure fall at
// constant temperature. The first is taken where the readings cannot tell
// which law it is.
var models = []model{straight, exponential, orifice, none, above, below, intermittent}

// model is one law of decay. Its parameters mean what suits it;
// functions of them come with their derivatives, so that the uncertainty of
// whatever a law says follows from the covariance of its parameters.
type model struct {
	name string
	// title is the law in a sentence.
	title string
	// size is the number of its parameters.
	size int
	// searched is by how much more its criterion must be smaller, because its
	// place in time was sought among many.
	searched float64
	// nested: it is another law with its loss left out. It is told of, and
	// gives no estimates: that a loss is too small to be seen does not make it
	// 0.
	nested bool
	// within: it says nothing outside the hold.
	within bool
	// fit finds the parameters and their covariance for noise of standard
	// deviation 1. len(t) == len(p) ≥ 3, t in order. The errors are those of
	// package fit.
	fit func(t, p []float64, x frame) (c vector, unit matrix, err error)
	// over is the pressure at times after t0, Pa, with its derivatives by the
	// parameters.
	over func(c vector, x frame, t []float64) (p []float64, by [][]float64)
	// at is the pressure a time t after t0 where nothing but the leak changes
	// it, Pa.
	at func(c vector, x frame, t float64) function
	// lost is the pressure lost from t0 to t, Pa, losses positive: over the
	// hold as it was driven, or where nothing but the leak changes it.
	lost func(c vector, x frame, t float64) function
	// rateAt is the loss rate at a pressure p, Pa/s.
	rateAt func(c vector, x frame, p float64) function
	// relative is the loss rate over the height above the sink, 1/s: 1/τ of an
	// exponential; where it changes over the hold, that in its middle.
	relative func(c vector, x frame) function
	// taken is what settling has taken from t0 to t, Pa, of a law that has a
	// settling of its own beside the leak; nil of all others.
	taken func(c vector, x frame, t float64) function
	// thinned is the derivative of over by the viscosity's change with
	// temperature; nil where the law takes no notice of it.
	thinned func(c vector, x frame, t []float64) []float64
	// aboveSink: the parameters are fitted to the pressure above the sink's.
	aboveSink bool
}

// counts: the law gives estimates where the readings speak for it. One that was
// searched for gives them only where a freer curve explains the hold better
// than the others, and it as well as that.
func (m model) counts() bool { return !m.nested && m.searched == 0 }

// mostParameters is how many parameters a law has at most.
const mostParameters = 5

// vector is a number for each of a law's parameters, 0 beyond them; matrix
// one for each pair of them.
type (
	vector [mostParameters]float64
	matrix [mostParameters]vector
)

// frame is what a law needs to know of a hold.
type frame struct {
	// sink is the sink's pressure, Pa gauge; middle the mean time of the
	// readings after t0, s.
	sink, middle float64
	// since is the time from locking to t0, s; NaN where not known.
	since float64
	// drive is nil where the pressure that the law is laid to is the one that
	// is there, clock where a laminar leak sees a liquid that stays as thin.
	drive *drive
	clock *clock
}

// resting is the frame where nothing but the leak changes the pressure.
func (x frame) resting() frame {
	x.drive, x.clock = nil, nil
	return x
}

// above is the mean of the drive.
func (x frame) above() float64 {
	if x.drive == nil {
		return 0
	}
	return x.drive.mean
}

// function is the value of something that a law says, with its derivatives by
// the law's parameters, and at constant parameters by the sink's pressure and by
// the viscosity's change with temperature.
type function struct {
	value                float64
	by                   vector
	bySink, byThickening float64
}

// times multiplies by a constant.
func (f function) times(k float64) function {
	f.value, f.bySink, f.byThickening = k*f.value, k*f.bySink, k*f.byThickening
	for j := range f.by {
		f.by[j] *= k
	}
	return f
}

// law is a model fitted to the readings of a hold, noise included.
type law struct {
	model
	frame
	c vector
	// unit is the covariance of the parameters for noise of standard
	// deviation 1.
	unit matrix
	// slopes[j][i] is the derivative of reading i by parameter j.
	slopes [][]float64
	// thinning is that by the viscosity's change with temperature, nil where
	// there is none.
	thinning []float64
	// residuals and their standard deviation (parameters taken off).
	residuals []float64
	std, rss  float64
	// rho, inflation and effective: autocorrelation of the residuals, the
	// factor on the noise part, the number of independent readings; dof of
	// the noise part.
	rho, inflation, effective, dof float64
}

// lay fits the model to readings. len(t) == len(p) ≥ 3; errors as model.fit.
func (m model) lay(t, p []float64, x frame) (*law, error) {
	c, unit, err := m.fit(t, p, x)
	if err != nil {
		return nil, err
	}
	l := &law{model: m, frame: x, c: c, unit: unit, residuals: make([]float64, len(t))}
	var fitted []float64
	fitted, l.slopes = m.over(c, x, t)
	for i := range t {
		l.residuals[i] = p[i] - fitted[i]
		l.rss += l.residuals[i] * l.residuals[i]
	}
	if x.clock != nil && m.thinned != nil {
		l.thinning = m.thinned(c, x, t)
	}
	l.std = math.Sqrt(l.rss / float64(max(len(t)-m.size, 1)))
	l.remembers(fit.MemoryOf(l.residuals, m.size))
	return l, nil
}

// remembers takes the memory of the residuals.
func (l *law) remembers(m fit.Memory) {
	l.rho, l.inflation, l.effective, l.dof = m.Autocorrelation, m.Inflation, m.Effective, m.DegreesOfFreedom
}

// noise is the part of a function's standard uncertainty that the scatter of
// the readings makes.
//
// Source: [1] 5.2.2, eq. 13.
func (l *law) noise(f function) float64 {
	return inflated(l.std*l.spread(f), l.inflation)
}

// spread is √(Σ g²) over the weights with which readings make the function.
func (l *law) spread(f function) float64 {
	g, sum := l.turned(f), 0.0
	for j := range l.size {
		sum += f.by[j] * g[j]
	}
	return math.Sqrt(max(0, sum))
}

// turned is the unit covariance times the function's derivatives.
func (l *law) turned(f function) (k vector) {
	for i := range l.size {
		for j := range l.size {
			k[i] += l.unit[i][j] * f.by[j]
		}
	}
	return k
}

// weights are those with which readings make the function, to first order.
func (l *law) weights(f function) []float64 {
	k := l.turned(f)
	g := make([]float64, len(l.residuals))
	for j, slope := range l.slopes {
		floats.AddScaled(g, k[j], slope)
	}
	return g
}

// unitOf reads a covariance.
func unitOf(c *mat.SymDense) (unit matrix) {
	n := c.SymmetricDim()
	for i := range n {
		for j := range n {
			unit[i][j] = c.At(i, j)
		}
	}
	return unit
}
