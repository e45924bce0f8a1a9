package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Nonlinear fits y = f(parameters) + noise by Levenberg–Marquardt from start:
// it minimises Σ(y − f)², with priors Σ((y − f)/σ)² + Σ((prior − c)/u)².
// Steps come from a QR factorisation of the Jacobian, inside a trust region
// whose axes are scaled by its columns, and follow the model's curvature where
// the region cuts them short. With priors and σ unknown, σ is that
// of the residuals, found by repeating the fit until it stays.
//
// Errors: ErrTooFew unless y and priors outnumber the parameters,
// ErrNotFinite for data, start or a model at the start that are not finite,
// ErrRank where the data do not tell the parameters apart, ErrNoProgress. With
// an error the solution has no covariance; its Outcome says how the fit ended
// and Parameters how far it came. It panics for a prior on a parameter that
// there is not, and for two priors on one.
//
// Source: [7], with the step of [12].
func Nonlinear(m Model, y, start []float64, o Options) (Solution, error) {
	if err := check(y, start, len(start), o); err != nil {
		return Solution{}, err
	}
	return settle(newCurve(m, y, len(start), o), start, len(start), o)
}

// check refuses what cannot be fitted whatever the model.
func check(y, start []float64, parameters int, o Options) error {
	if err := o.check(parameters); err != nil {
		return err
	}
	if len(y) == 0 || len(y)+len(o.Priors) <= parameters {
		return ErrTooFew
	}
	if !finite(sumOfSquares(y)) || !finite(sumOfSquares(start)) {
		return ErrNotFinite
	}
	return nil
}

// observed is what the surfaces of both kinds of model share: the data, then
// a row for each prior, and the residuals of both.
type observed struct {
	y           []float64
	priors      []Prior
	sigma       float64
	trial, kept []float64
	level       float64
	triangle    *triangle
}

// newObserved reads the derivatives as stated, or as differences when so told.
func newObserved(y []float64, parameters int, differences bool, o Options, w *Workspace) observed {
	worst := float64(worstCondition)
	if differences {
		worst = worstConditionOfDifferences
	}
	rows := len(y) + len(o.Priors)
	return observed{y: y, priors: o.Priors,
		trial: w.vector(rows), kept: w.vector(rows),
		level:    floats.Norm(y, 2),
		triangle: newTriangle(parameters+1, rows, w.vector((parameters+1)*rows), worst),
	}
}

func (b *observed) rows() int           { return len(b.trial) }
func (b *observed) weigh(sigma float64) { b.sigma = sigma }
func (b *observed) keep()               { b.trial, b.kept = b.kept, b.trial }
func (b *observed) residuals() []float64 {
	return b.kept[:len(b.y):len(b.y)]
}

func (b *observed) jacobian() *triangle { return b.triangle }

// noise is how much the sum of squares may change by rounding: each residual
// carries some units in the last place of its observation.
func (b *observed) noise(sum float64) float64 {
	return 1e-12 + 64*epsilon*b.level/math.Sqrt(sum)
}

// same says that a noise, once more found from the residuals, stays as it is.
func (b *observed) same(before, now float64) bool {
	rounding := 16 * epsilon * b.level / math.Sqrt(float64(len(b.y)))
	return math.Abs(now-before) <= 1e-9*before+rounding
}

// weight is what a row of a prior is multiplied by, to stand beside rows that
// have σ for their noise.
func (b *observed) weight(p Prior) float64 { return b.sigma / p.StdUncertainty }

// curve is the surface of a model whose parameters are all nonlinear.
type curve struct {
	observed
	model       Model
	columns     [][]float64 // of the Jacobian, in the triangle
	differences *differences
	ahead, back []float64 // for bend
	point       []float64
}

func newCurve(m Model, y []float64, parameters int, o Options) *curve {
	rows := len(y) + len(o.Priors)
	w := o.workspace((parameters + 6) * rows)
	c := &curve{observed: newObserved(y, parameters, m.Jacobian == nil, o, w), model: m}
	c.ahead, c.back, c.point = w.vector(rows), w.vector(rows), make([]float64, parameters)
	c.columns = split(c.triangle.block, parameters, len(y), rows)
	if m.Jacobian == nil {
		c.differences = newDifferences(parameters, w.vector(len(y)))
	}
	return c
}

func (c *curve) try(x []float64) float64 {
	n := len(c.y)
	c.model.Values(c.trial[:n:n], x)
	floats.SubTo(c.trial[:n], c.y, c.trial[:n])
	for k, p := range c.priors {
		c.trial[n+k] = c.weight(p) * (p.Value - x[p.Parameter])
	}
	return floats.Dot(c.trial, c.trial)
}

func (c *curve) tangent(x []float64, g *tangent, scale []float64) bool {
	n := len(c.y)
	if c.differences != nil {
		c.differences.jacobian(c.columns, c.model.Values, x)
	} else {
		c.model.Jacobian(c.columns, x)
	}
	t := c.triangle
	for j := range x {
		clear(t.column(j)[n:])
	}
	for k, p := range c.priors {
		t.column(p.Parameter)[n+k] = c.weight(p)
	}
	for j := range x {
		if !t.add(j) {
			return false
		}
	}
	copy(t.column(len(x)), c.trial)
	t.take(len(x), 0, len(x))
	return t.end() && g.read(t, 0, scale)
}

// bendStep is how far along a step, relative to it, the second difference
// reaches.
//
// Source: [12].
const bendStep = 0.1

func (c *curve) bend(dst, x, step []float64) {
	n := len(c.y)
	floats.AddScaledTo(c.point, x, bendStep, step)
	c.model.Values(c.ahead[:n:n], c.point)
	floats.AddScaledTo(c.point, x, -bendStep, step)
	c.model.Values(c.back[:n:n], c.point)
	for i, r := range c.residuals() {
		c.ahead[i] = (c.ahead[i] + c.back[i] - 2*(c.y[i]-r)) / (bendStep * bendStep)
	}
	clear(c.ahead[n:])
	c.triangle.project(dst, c.ahead)
}

func (c *curve) parameters(x []float64) []float64 { return append([]float64(nil), x...) }
