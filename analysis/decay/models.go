package decay

import (
	"math"

	"holdbench/analysis/fit"
)

// The names of the laws, as in results.
const (
	Line        = "line"
	Exponential = "exponential"
)

// models is the one table of decay laws: how a leak lets the pressure fall at
// constant temperature. The first is taken where the readings cannot tell
// which law it is.
var models = []model{straight, exponential}

// model is one law of decay. It has two parameters, which mean what suits it;
// functions of them come with their derivatives, so that the uncertainty of
// whatever a law says follows from the covariance of its parameters.
type model struct {
	name string
	// title is the law in a sentence.
	title string
	// fit finds the parameters and their covariance for noise of standard
	// deviation 1. len(t) == len(p) ≥ 3, t in order. The errors are those of
	// package fit.
	fit func(t, p []float64, x frame) (c pair, unit [2]pair, err error)
	// over is the pressure at times after t0, Pa, with its derivatives by the
	// parameters.
	over func(c pair, x frame, t []float64) (p []float64, by [2][]float64)
	// at is the pressure a time t after t0 where nothing but the leak changes
	// it, Pa.
	at func(c pair, x frame, t float64) function
	// lost is the pressure lost from t0 to t, Pa, losses positive: over the
	// hold as it was driven, or where nothing but the leak changes it.
	lost func(c pair, x frame, t float64) function
	// rateAt is the loss rate at a pressure p, Pa/s.
	rateAt func(c pair, x frame, p float64) function
	// relative is the loss rate over the height above the sink, 1/s: 1/τ of an
	// exponential; where it changes over the hold, that in its middle.
	relative func(c pair, x frame) function
	// aboveSink: the parameters are fitted to the pressure above the sink's.
	aboveSink bool
}

// pair is a number for each of a law's two parameters.
type pair [2]float64

// frame is what a law needs to know of a hold: the sink's pressure, Pa gauge,
// the mean time of the readings after t0, s, and the drive; nil where the
// pressure that the law is laid to is the one that is there.
type frame struct {
	sink, middle float64
	drive        *drive
}

// above is the mean of the drive.
func (x frame) above() float64 {
	if x.drive == nil {
		return 0
	}
	return x.drive.mean
}

// function is the value of something that a law says, with its derivatives by
// the law's parameters and by the sink's pressure at constant parameters.
type function struct {
	value  float64
	by     pair
	bySink float64
}

// times multiplies by a constant.
func (f function) times(k float64) function {
	return function{k * f.value, pair{k * f.by[0], k * f.by[1]}, k * f.bySink}
}

// law is a model fitted to the readings of a hold, noise included.
type law struct {
	model
	frame
	c pair
	// unit is the covariance of the parameters for noise of standard
	// deviation 1.
	unit [2]pair
	// slopes[j][i] is the derivative of reading i by parameter j.
	slopes [2][]float64
	// residuals and their standard deviation (two parameters taken off).
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
	l.std = math.Sqrt(l.rss / float64(len(t)-2))
	l.rho = fit.Autocorrelation(l.residuals)
	l.inflation, l.effective = fit.AR1Inflation(l.rho, len(t))
	l.dof = max(l.effective-2, 1)
	return l, nil
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
	g := l.turned(f)
	return math.Sqrt(max(0, f.by[0]*g[0]+f.by[1]*g[1]))
}

// turned is the unit covariance times the function's derivatives.
func (l *law) turned(f function) pair {
	return pair{
		l.unit[0][0]*f.by[0] + l.unit[0][1]*f.by[1],
		l.unit[1][0]*f.by[0] + l.unit[1][1]*f.by[1],
	}
}

// weights are those with which readings make the function, to first order.
func (l *law) weights(f function) []float64 {
	k := l.turned(f)
	g := make([]float64, len(l.residuals))
	for i := range g {
		g[i] = k[0]*l.slopes[0][i] + k[1]*l.slopes[1][i]
	}
	return g
}
