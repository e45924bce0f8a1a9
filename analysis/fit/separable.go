package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Separable fits a model that is linear in some parameters by variable
// projection: the search goes over the nonlinear ones alone, from start, and
// at each point the linear ones are those of linear least squares. It needs
// no start for them and often finds its way from starts that Nonlinear cannot
// use. Solution, priors (on either kind), options, errors and panics are as for
// Nonlinear; it also panics unless start has a number for each nonlinear
// parameter.
//
// Source: [9], with the Jacobian of [10]: it leaves out a term that is
// orthogonal to the residuals, so gradient and minimum are exact.
func Separable(m SeparableModel, y, start []float64, o Options) (Solution, error) {
	if len(start) != m.Nonlinear {
		panic("fit: a start needs one number for each nonlinear parameter")
	}
	parameters := m.Linear + m.Nonlinear
	if err := check(y, start, parameters, o); err != nil {
		return Solution{}, err
	}
	return settle(newProjection(m, y, o), start, parameters, o)
}

// Model returns m as a model of all its parameters, linear ones first, for
// Nonlinear or CheckJacobian; its Jacobian is nil when m has no Slopes. The
// model keeps memory: one goroutine at a time.
func (m SeparableModel) Model(observations int) Model {
	basis, at := newColumns(m.Linear, observations), make([]float64, m.Nonlinear)
	known := false
	fill := func(a []float64) {
		if !known || !floats.Equal(a, at) {
			m.Basis(basis, a)
			copy(at, a)
			known = true
		}
	}
	full := Model{Values: func(dst, x []float64) {
		fill(x[m.Linear:])
		m.sum(dst, basis, x[m.Linear:], x[:m.Linear])
	}}
	if m.Slopes != nil {
		full.Jacobian = func(dst [][]float64, x []float64) {
			fill(x[m.Linear:])
			for k, column := range basis {
				copy(dst[k], column)
			}
			m.Slopes(dst[m.Linear:], basis, x[m.Linear:], x[:m.Linear])
		}
	}
	return full
}

// sum writes Φ·c + g to dst.
func (m SeparableModel) sum(dst []float64, basis [][]float64, a, c []float64) {
	clear(dst)
	if m.Offset != nil {
		m.Offset(dst, a)
	}
	for k, column := range basis {
		floats.AddScaled(dst, c[k], column)
	}
}

// projection is the surface over the nonlinear parameters. In the triangle lie
// basis, slopes and target y − g. Basis and target are done first: what is left
// of the target are the residuals. Then the slopes: what the basis leaves of
// them is the Jacobian of the search.
type projection struct {
	observed
	model         SeparableModel
	basis         [][]float64 // Φ
	columns       [][]float64 // of the slopes, in the triangle
	trialC, keptC []float64
	differences   *differences
	scratch       [][]float64
}

func newProjection(m SeparableModel, y []float64, o Options) *projection {
	rows, parameters := len(y)+len(o.Priors), m.Linear+m.Nonlinear
	w := o.workspace((parameters + 2*m.Linear + 4) * rows)
	s := &projection{
		observed: newObserved(y, parameters, m.Slopes == nil, o, w), model: m,
		trialC: make([]float64, m.Linear), keptC: make([]float64, m.Linear),
	}
	s.basis = w.columns(m.Linear, len(y))
	s.columns = split(s.triangle.block[m.Linear*rows:], m.Nonlinear, len(y), rows)
	if m.Slopes == nil {
		s.differences = newDifferences(m.Nonlinear, w.vector(len(y)))
		s.scratch = w.columns(m.Linear, len(y))
	}
	return s
}

// try solves for the linear parameters at a.
func (s *projection) try(a []float64) float64 {
	t, linear, last := s.triangle, s.model.Linear, s.triangle.size-1
	s.model.Basis(s.basis, a)
	s.fill(a)
	for k := range linear {
		if !t.add(k) {
			return math.NaN()
		}
	}
	t.take(last, 0, linear)
	t.solve(s.trialC)
	copy(s.trial, t.column(last))
	return floats.Dot(s.trial, s.trial)
}

// fill writes basis and target y − g, and below them the priors, into the
// triangle.
func (s *projection) fill(a []float64) {
	n, t, linear := len(s.y), s.triangle, s.model.Linear
	target := t.column(t.size - 1)
	if s.model.Offset != nil {
		s.model.Offset(target[:n:n], a)
		floats.SubTo(target[:n], s.y, target[:n])
	} else {
		copy(target, s.y)
	}
	for k, column := range s.basis {
		clear(t.column(k)[copy(t.column(k), column):])
	}
	for i, p := range s.priors {
		weight := s.weight(p)
		target[n+i] = weight * p.Value
		if p.Parameter < linear {
			t.column(p.Parameter)[n+i] = weight
		} else {
			target[n+i] -= weight * a[p.Parameter-linear]
		}
	}
}

// tangent goes on from the triangle that try began.
func (s *projection) tangent(a []float64, g *tangent, scale []float64) bool {
	if s.differences != nil {
		s.differences.jacobian(s.columns, s.values, a)
	} else {
		s.model.Slopes(s.columns, s.basis, a, s.trialC)
	}
	n, t, linear, last := len(s.y), s.triangle, s.model.Linear, s.triangle.size-1
	for j := linear; j < last; j++ {
		clear(t.column(j)[n:])
	}
	for i, p := range s.priors {
		if p.Parameter >= linear {
			t.column(p.Parameter)[n+i] = s.weight(p)
		}
	}
	for j := linear; j < last; j++ {
		if !t.add(j) {
			return false
		}
	}
	t.take(last, linear, last)
	return t.end() && g.read(t, linear, scale)
}

// values is the model at a with the linear parameters as last solved for.
func (s *projection) values(dst, a []float64) {
	s.model.Basis(s.scratch, a)
	s.model.sum(dst, s.scratch, a, s.trialC)
}

func (s *projection) keep() {
	s.observed.keep()
	s.trialC, s.keptC = s.keptC, s.trialC
}

func (s *projection) parameters(a []float64) []float64 {
	return append(append([]float64(nil), s.keptC...), a...)
}
