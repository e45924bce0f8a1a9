package characterisation

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"holdbench/analysis/decay"
	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// stepModel is a run with steps at which the pressure jumps and relaxes:
//
//	p(t) = level_k + excess_k·exp(−(t − t_k)/τ) − fall·x + B·T_f
//
// between step k and the next; levels count from the first reading.
type stepModel struct {
	steps []Step
	// ends are the ends of the stretches: ends[i] ends the one before step i.
	ends  []float64
	t0    float64
	at, p []float64
	level float64
	// stretch each reading is in, 0 before the first step.
	stretch     []int
	t           liquid
	coefficient uncertainty.Estimate
	solution    fit.Solution
	covariance  *mat.SymDense // inflated
	dof         float64
}

// stepBlocks is how many blocks the readings are averaged into.
const stepBlocks = 1200

func newStepModel(r StiffnessRun, c series.Column, steps []Step) (*stepModel, string) {
	m := &stepModel{steps: steps, t0: r.Start}
	m.at, m.p = means(c, stepBlocks)
	width := 2 * (m.at[len(m.at)-1] - m.at[0]) / float64(len(m.at))
	for _, s := range steps {
		m.ends = append(m.ends, s.At)
	}
	m.ends = append(m.ends, m.at[len(m.at)-1])
	// A block with a step in it belongs to neither side.
	at, p := m.at[:0:0], m.p[:0:0]
	counts := make([]int, len(steps)+1)
	for i, t := range m.at {
		k, clear := 0, true
		for _, s := range steps {
			if t >= s.At {
				k++
			}
			clear = clear && math.Abs(t-s.At) > width
		}
		if clear {
			at, p = append(at, t), append(p, m.p[i])
			m.stretch = append(m.stretch, k)
			counts[k]++
		}
	}
	m.at, m.p = at, p
	for k, n := range counts {
		if n < 5 {
			return nil, "too few readings " + placeOf(k, len(steps)) + ": record before the first step, and wait after each"
		}
	}
	m.level = m.p[0]
	for i := range m.p {
		m.p[i] -= m.level
	}
	return m, m.compensate(r)
}

// placeOf names a stretch of a run with steps.
func placeOf(k, steps int) string {
	switch k {
	case 0:
		return "before the first step"
	case steps:
		return "after the last step"
	}
	return "between two steps"
}

// compensate takes the characterised share of temperature off the pressure.
func (m *stepModel) compensate(r StiffnessRun) (why string) {
	if r.Temperature.Len() == 0 {
		return ""
	}
	m.coefficient = uncertainty.Estimate{StdUncertainty: decay.UnknownThermalCoefficient, DegreesOfFreedom: exactly}
	if r.Known.ThermalCoefficient != nil {
		m.coefficient = *r.Known.ThermalCoefficient
	}
	probe, err := newProbe(r.Temperature, m.at[0], m.at[len(m.at)-1], r.Thermometer.Resolution)
	if err != nil {
		return err.Error()
	}
	lag := 0.0
	if r.Known.Lag != nil {
		lag = r.Known.Lag.Value
	}
	m.t = probe.liquid(lag, m.at, settlingStart)
	first := m.t.at[0]
	for i := range m.t.at {
		m.t.at[i] -= first
		m.p[i] -= m.coefficient.Value * m.t.at[i]
	}
	return ""
}

// Linear parameters: the levels, the excesses, the fall; then ln τ.
func (m *stepModel) levels() int { return len(m.steps) + 1 }
func (m *stepModel) atFall() int { return m.levels() + len(m.steps) }
func (m *stepModel) atTau() int  { return m.atFall() + 1 }
func (m *stepModel) tau() float64 {
	return math.Exp(m.solution.Parameters[m.atTau()])
}
func (m *stepModel) levelOf(k int) float64    { return m.level + m.solution.Parameters[k] }
func (m *stepModel) excess(i int) float64     { return m.solution.Parameters[m.levels()+i] }
func (m *stepModel) fallAt(t float64) float64 { return (t - m.at[0]) / (m.at[len(m.at)-1] - m.at[0]) }

// basis writes what each linear parameter is multiplied by.
func (m *stepModel) basis(dst [][]float64, a []float64) {
	tau := math.Exp(a[0])
	for j := range dst {
		clear(dst[j])
	}
	for i, t := range m.at {
		k := m.stretch[i]
		dst[k][i] = 1
		if k > 0 {
			dst[m.levels()+k-1][i] = math.Exp(-(t - m.steps[k-1].At) / tau)
		}
		dst[m.atFall()][i] = -m.fallAt(t)
	}
}

func (m *stepModel) slopes(dst, basis [][]float64, a, c []float64) {
	tau := math.Exp(a[0])
	for i, t := range m.at {
		dst[0][i] = 0
		if k := m.stretch[i]; k > 0 {
			place := m.levels() + k - 1
			dst[0][i] = c[place] * basis[place][i] * (t - m.steps[k-1].At) / tau
		}
	}
}

// fit lays it; why is empty when it could.
func (m *stepModel) fit() (why string) {
	model := fit.SeparableModel{Linear: m.atTau(), Nonlinear: 1, Basis: m.basis, Slopes: m.slopes}
	dwell := (m.at[len(m.at)-1] - m.steps[0].At) / float64(len(m.steps))
	found := false
	for _, share := range []float64{0.02, 0.07, 0.2} {
		s, err := fit.Separable(model, m.p, []float64{math.Log(share * dwell)}, fit.Options{Tolerance: 1e-6, MaxIterations: 200})
		if err == nil && (!found || s.RSS < m.solution.RSS) {
			found = true
			s.Residuals = append([]float64(nil), s.Residuals...)
			m.solution = s
		}
	}
	if !found {
		return "no relaxation after the steps can be fitted: wait longer after each step, and record faster"
	}
	factor, dof := inflationOf(m.solution.Residuals, m.atTau()+1)
	m.covariance, m.dof = m.solution.Inflated(factor), dof
	return ""
}

// change is the relaxed pressure after step i less that before, and its
// standard uncertainty from noise.
func (m *stepModel) change(i int) (value, u float64) {
	c := m.covariance
	return m.solution.Parameters[i+1] - m.solution.Parameters[i],
		math.Sqrt(max(0, c.At(i, i)+c.At(i+1, i+1)-2*c.At(i, i+1)))
}

// excessOverall is Σ excess·volume and its standard uncertainty.
func (m *stepModel) excessOverall() (value, u float64) {
	for i, s := range m.steps {
		value += m.excess(i) * s.Volume.Value
		for j, o := range m.steps {
			u += m.covariance.At(m.levels()+i, m.levels()+j) * s.Volume.Value * o.Volume.Value
		}
	}
	return value, math.Sqrt(max(0, u))
}

// byCoefficient is by how much the pooled stiffness changes with one standard
// uncertainty of the thermal coefficient: the levels move by the temperature's
// mean over their stretch, less what the fall takes up.
func (m *stepModel) byCoefficient() float64 {
	shifted := *m
	shifted.p = append([]float64(nil), m.p...)
	for i := range shifted.p {
		shifted.p[i] -= m.coefficient.StdUncertainty * m.t.at[i]
	}
	if shifted.fit() != "" {
		return math.NaN()
	}
	var with, without, volume float64
	for i, s := range m.steps {
		a, _ := m.change(i)
		b, _ := shifted.change(i)
		with, without = with+b*s.Volume.Value, without+a*s.Volume.Value
		volume += s.Volume.Value * s.Volume.Value
	}
	return (with - without) / volume
}

func (m *stepModel) drawn() Curve {
	var c Curve
	for i, v := range m.p {
		c.Time = append(c.Time, m.at[i])
		c.Measured = append(c.Measured, m.level+v)
		c.Fitted = append(c.Fitted, m.level+v-m.solution.Residuals[i])
	}
	return c
}
