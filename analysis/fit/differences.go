package fit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// ErrJacobian: a model's derivatives are not those of its values.
var ErrJacobian = errors.New("fit: Jacobian is not the derivative of the values")

// Derivatives by differences are good for about ten digits, so that dependent
// columns show as a condition of that order.
const worstConditionOfDifferences = 1e9

// differences takes derivatives by central differences.
type differences struct {
	low        []float64
	parameters []float64
}

func newDifferences(parameters int, low []float64) *differences {
	return &differences{low: low, parameters: make([]float64, parameters)}
}

// jacobian writes the derivatives of values at x to dst. The step is the cube
// root of the precision, relative to the parameter: there the error of the
// difference, h², and that of rounding, ε/h, are of one size. A parameter of 0
// is taken to be of the order of 1.
//
// Source: [11], numerical derivatives.
func (d *differences) jacobian(dst [][]float64, values func(dst, x []float64), x []float64) {
	copy(d.parameters, x)
	for j, v := range x {
		h := relativeStep * math.Abs(v)
		if v == 0 {
			h = relativeStep
		}
		d.column(dst[j], values, j, h)
		d.parameters[j] = v
	}
}

var relativeStep = math.Cbrt(epsilon)

// column writes the difference over ±h in parameter j; the step divided by is
// the one that the rounded parameters make.
func (d *differences) column(dst []float64, values func(dst, x []float64), j int, h float64) {
	v := d.parameters[j]
	high, low := v+h, v-h
	d.parameters[j] = high
	values(dst, d.parameters)
	d.parameters[j] = low
	values(d.low, d.parameters)
	d.parameters[j] = v
	floats.SubTo(dst, dst, d.low)
	floats.Scale(1/(high-low), dst)
}

// CheckJacobian compares m.Jacobian with differences of m.Values at each of
// the points, for that many observations. Differences are taken over several
// steps and the one believed, for each derivative, that least depends on the
// step. A derivative is right when it agrees within tolerance times the
// largest of its column (1e-6 suits most models) and the rounding of values.
//
// It returns ErrJacobian with the point, parameter and observation that agree
// worst, ErrNotFinite where the model or its derivative is not finite. It
// panics if m has no Jacobian or no point is given.
func CheckJacobian(m Model, observations int, tolerance float64, points ...[]float64) error {
	if m.Jacobian == nil || len(points) == 0 {
		panic("fit: a check of a Jacobian needs one, and points")
	}
	for _, point := range points {
		if err := checkAt(m, observations, tolerance, point); err != nil {
			return err
		}
	}
	return nil
}

func checkAt(m Model, observations int, tolerance float64, point []float64) error {
	w := new(Workspace)
	w.grow((len(point) + 5) * observations)
	stated := w.columns(len(point), observations)
	values := w.vector(observations)
	at := append([]float64(nil), point...)
	m.Values(values, at)
	m.Jacobian(stated, at)
	d := newDifferences(len(point), w.vector(observations))
	copy(d.parameters, point)
	worst, where, parameter := 0.0, 0, 0
	best, next, before := w.vector(observations), w.vector(observations), w.vector(observations)
	for j := range point {
		steps := d.believed(best, next, before, m.Values, j)
		if !finite(floats.Norm(best, 1)) || !finite(floats.Norm(stated[j], 1)) {
			return fmt.Errorf("%w: derivative by parameter %d at %v", ErrNotFinite, j, point)
		}
		largest := max(floats.Norm(best, math.Inf(1)), floats.Norm(stated[j], math.Inf(1)))
		for i := range best {
			rounding := 8 * epsilon * math.Abs(values[i]) / steps[i]
			if wrong := (math.Abs(best[i]-stated[j][i]) - rounding) / largest; wrong > worst {
				worst, where, parameter = wrong, i, j
			}
		}
	}
	if worst > tolerance {
		return fmt.Errorf("%w: by parameter %d, observation %d, at %v: off by %.2g of the column's largest",
			ErrJacobian, parameter, where, point, worst)
	}
	return nil
}

// believed writes, for each observation, the difference that changed least
// from one step to the next shorter one, and returns the steps it is over.
// Steps are relative, as in jacobian.
func (d *differences) believed(best, next, before []float64, values func(dst, x []float64), j int) []float64 {
	size := math.Abs(d.parameters[j])
	if size == 0 {
		size = 1
	}
	change, steps := make([]float64, len(best)), make([]float64, len(best))
	for k, h := 0, longestStep*size; k < stepsTried; k, h = k+1, h/8 {
		d.column(next, values, j, h)
		for i, v := range next {
			moved := math.Abs(v - before[i])
			if k <= 1 || moved < change[i] || math.IsNaN(change[i]) {
				best[i], change[i], steps[i] = v, moved, h
			}
		}
		copy(before, next)
	}
	return steps
}

// The steps that a check tries: from 1e-2 of the parameter to some 1e-9.
const (
	longestStep = 1e-2
	stepsTried  = 9
)
