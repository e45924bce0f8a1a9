package fluid

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// propagate returns f at the parameters' values and the budget of what their
// uncertainties do to it, a line for each parameter that does anything, in
// their order:
//
//	u_i = ½·|f(…, x_i + u(x_i), …) − f(…, x_i − u(x_i), …)|
//
// Source: [1] 5.1.3 note 2 (sensitivities by numerical calculation); degrees
// of freedom are infinite, as for uncertainties that are taken from ranges.
func propagate(parameters []Parameter, f func(x []float64) float64) (float64, uncertainty.Budget) {
	x := make([]float64, len(parameters))
	for i, p := range parameters {
		x[i] = p.Value
	}
	value := f(x)
	var budget uncertainty.Budget
	for i, p := range parameters {
		x[i] = p.Value + p.U
		up := f(x)
		x[i] = p.Value - p.U
		down := f(x)
		x[i] = p.Value
		// What does not enter f is bit for bit the same on both sides.
		if u := math.Abs(up-down) / 2; u != 0 {
			budget = append(budget, uncertainty.Line{
				Source: p.Name, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Note: p.Source,
			})
		}
	}
	return value, budget
}
