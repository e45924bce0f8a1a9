package characterisation

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"holdbench/analysis/fit"
	"holdbench/analysis/series"
)

// The places of the parameters; the errors of the smooth temperature follow.
const (
	atLevel = iota
	atCoefficient
	atTrend
	atLag
	atSecond
	atNuisance
	atNuisanceTime
	atErrors
	thermalLinear = 3
	// thermalParameters are all without a prior that decides.
	thermalParameters = 6
)

// What is taken for granted of the terms beside coefficient and lag.
//
// Source: the house's own. A probe's time constant is seconds, and that of a
// settling or of a warming after pumping up is about a minute within a factor
// of some.
const (
	secondDoubt      = 10.0 // s
	nuisanceTime     = 60.0 // s
	nuisanceLogDoubt = 1.0  // of ln τ
)

// thermalStart is the least doubt of the liquid's temperature at the start, K:
// wide, because the run itself tells it.
const thermalStart = 0.05

// thermalModel is the pressure by the liquid's temperature. Pressures p are
// counted from level, times x from the middle in half windows.
type thermalModel struct {
	probe *probe
	t, x  []float64
	p     []float64
	level float64
	half  float64
	// reference is where T_f is counted from, K above the probe's base.
	reference float64
	errors    int
	// span is how far the pressure moved, Pa.
	span float64
	// last liquid asked for.
	lag, second float64
	last        liquid
}

func newThermalModel(probe *probe, readings series.Column) *thermalModel {
	m := &thermalModel{probe: probe, lag: math.NaN()}
	m.t, m.p = means(readings, thermalBlocks)
	first, last := m.t[0], m.t[len(m.t)-1]
	m.half = (last - first) / 2
	m.level = mean(m.p)
	low, high := math.Inf(1), math.Inf(-1)
	for i := range m.p {
		m.p[i] -= m.level
		low, high = min(low, m.p[i]), max(high, m.p[i])
		m.x = append(m.x, (m.t[i]-first)/m.half-1)
	}
	m.span = high - low
	still := m.at(0, 0)
	m.reference = mean(still.at)
	m.errors = len(still.shapes)
	return m
}

// at keeps the liquid at a lag and a second time constant.
func (m *thermalModel) at(lag, second float64) liquid {
	if lag != m.lag || second != m.second {
		m.lag, m.second, m.last = lag, second, m.liquid(lag, second)
	}
	return m.last
}

// liquid is the probe's curve through
//
//	(1 + lead·d/dt) / (1 + behind·d/dt),  behind − lead = lag
//
// so that the lag is what a steady slope shows, whatever the second time
// constant: it is in both, and the smaller of the two where it is above 0.
// Below 0 it stands for a liquid that is itself behind by two lags. A probe that
// follows the liquid, lag ≤ 0, has none.
func (m *thermalModel) liquid(lag, second float64) liquid {
	if lag <= 0 || lag+second <= 0 {
		return m.probe.filtered(0, -lag, m.t, thermalStart)
	}
	return m.probe.filtered(lag+second, second, m.t, thermalStart)
}

// by is ∂T_f/∂lag or, by the second time constant, at the errors z.
func (m *thermalModel) by(lag, second float64, z []float64, which int) []float64 {
	step := 0.02 * (1 + math.Abs(lag)/10)
	dLag, dSecond := step, 0.0
	if which == atSecond {
		dLag, dSecond = 0, step
	}
	above, below := m.liquid(lag+dLag, second+dSecond), m.liquid(lag-dLag, second-dSecond)
	out := make([]float64, len(m.t))
	for i := range out {
		out[i] = (strayed(above, z, i) - strayed(below, z, i)) / (2 * step)
	}
	return out
}

// strayed is T_f at place i with the errors z, in standard deviations.
func strayed(l liquid, z []float64, i int) float64 {
	v := l.at[i]
	for k, shape := range l.shapes {
		v += z[k] * shape[i]
	}
	return v
}

func (m *thermalModel) values(dst, x []float64) {
	l := m.at(x[atLag], x[atSecond])
	for i := range dst {
		left, _ := m.nuisance(i, x[atNuisanceTime])
		dst[i] = x[atLevel] + x[atCoefficient]*(strayed(l, x[atErrors:], i)-m.reference) - x[atTrend]*m.x[i] + x[atNuisance]*left
	}
}

// nuisance is what is left at place i of a settling or warming that has this
// ln τ, and its change with it.
func (m *thermalModel) nuisance(i int, ln float64) (left, byLn float64) {
	r := (m.t[i] - m.t[0]) / math.Exp(ln)
	return math.Exp(-r), r * math.Exp(-r)
}

func (m *thermalModel) jacobian(dst [][]float64, x []float64) {
	l, z, b := m.at(x[atLag], x[atSecond]), x[atErrors:], x[atCoefficient]
	byLag, bySecond := m.by(x[atLag], x[atSecond], z, atLag), m.by(x[atLag], x[atSecond], z, atSecond)
	for i := range m.t {
		dst[atLevel][i] = 1
		dst[atCoefficient][i] = strayed(l, z, i) - m.reference
		dst[atTrend][i] = -m.x[i]
		dst[atLag][i] = b * byLag[i]
		dst[atSecond][i] = b * bySecond[i]
		left, byLn := m.nuisance(i, x[atNuisanceTime])
		dst[atNuisance][i], dst[atNuisanceTime][i] = left, x[atNuisance]*byLn
		for k, shape := range l.shapes {
			dst[atErrors+k][i] = b * shape[i]
		}
	}
}

// linear lays level, coefficient and trend at a lag, the smooth temperature
// taken as it is: a start for the fit.
func (m *thermalModel) linear(lag float64) (fit.Linear, error) {
	l := m.at(lag, 0)
	x := mat.NewDense(len(m.t), thermalLinear, nil)
	for i := range m.t {
		x.SetRow(i, []float64{1, l.at[i] - m.reference, -m.x[i]})
	}
	return fit.LeastSquares(x, m.p)
}

// lags are those that the search begins with, s, inside what the window can
// show.
var lags = []float64{-240, -120, -60, -30, -10, 0, 10, 30, 60, 120, 240, 480}

// fit finds the parameters, first with the noise of the residuals, then with
// that noise inflated for its autocorrelation, so that probe and pressure have
// their right weights.
func (m *thermalModel) fit() (s fit.Solution, inflation, effective float64, err error) {
	start, best := []float64(nil), math.Inf(1)
	for _, lag := range lags {
		if math.Abs(lag) > m.half/2 {
			continue
		}
		l, err := m.linear(lag)
		if err == nil && l.ResidualStd < best {
			best = l.ResidualStd
			start = append(append([]float64(nil), l.Coefficients...), lag)
		}
	}
	if start == nil {
		return s, 0, 0, fit.ErrRank
	}
	start = append(start, 0, 0, math.Log(nuisanceTime))
	start = append(start, make([]float64, m.errors)...)
	o := fit.Options{Tolerance: 1e-4, MaxIterations: 200, Priors: []fit.Prior{
		{Parameter: atSecond, StdUncertainty: secondDoubt},
		{Parameter: atNuisance, StdUncertainty: m.span},
		{Parameter: atNuisanceTime, Value: math.Log(nuisanceTime), StdUncertainty: nuisanceLogDoubt},
	}}
	for k := range m.errors {
		o.Priors = append(o.Priors, fit.Prior{Parameter: atErrors + k, StdUncertainty: 1})
	}
	model := fit.Model{Values: m.values, Jacobian: m.jacobian}
	if s, err = fit.Nonlinear(model, m.p, start, o); err != nil {
		return s, 0, 0, err
	}
	inflation, effective = longRun(s.Residuals)
	noise := s.ResidualStd
	o.Sigma = noise * inflation
	if s, err = fit.Nonlinear(model, m.p, s.Parameters, o); err != nil {
		return s, 0, 0, err
	}
	return s, inflation, effective, nil
}

// inflation is by how much the coefficient's variance grows because T_f moves
// with time.
func (m *thermalModel) inflation(lag, second float64) float64 {
	all, rest := m.scatter(lag, second)
	return all / rest
}

// spread is the standard deviation of T_f about a straight line in time, K.
func (m *thermalModel) spread(lag, second float64) float64 {
	_, rest := m.scatter(lag, second)
	return math.Sqrt(rest / float64(len(m.t)))
}

// scatter is the sum of squares of T_f about its mean, and about its line.
func (m *thermalModel) scatter(lag, second float64) (all, rest float64) {
	at := m.at(lag, second).at
	centre := mean(at)
	var xy, xx float64
	for i, v := range at {
		all += (v - centre) * (v - centre)
		xy += m.x[i] * (v - centre)
		xx += m.x[i] * m.x[i]
	}
	middle := mean(m.x)
	xx -= float64(len(at)) * middle * middle
	return all, all - xy*xy/xx
}

// movesWithTime says in words how much of the temperature's movement a steady
// slope takes, of an inflation v.
func movesWithTime(v float64) string {
	if !(v < 1000) {
		return "it moves with time alone"
	}
	return fmt.Sprintf("%.0f %% of its movement is a steady slope", 100*(1-1/v))
}

// together says in words that time and temperature cannot be told apart; empty
// where they can.
func (m *thermalModel) together() string {
	if !(m.spread(0, 0) > 2*m.probe.quantum) {
		return fmt.Sprintf("the temperature hardly moved (%.3g K): %s, by some tenths of a kelvin at least", m.probe.sweep, upAndDown)
	}
	if v := m.inflation(0, 0); !(v <= mostVarianceInflation) {
		return fmt.Sprintf("time and temperature cannot be told apart (%s): what the temperature does looks like a leak; %s", movesWithTime(v), upAndDown)
	}
	return ""
}
