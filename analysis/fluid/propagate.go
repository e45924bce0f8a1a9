package fluid

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// propagate returns f at the parameters' values and the budget of what their
// uncertainties do to it, a line for each parameter that does anything, in
// their order:
//
//	u_i² = the variance of f over x_i normal, by three points:
//	       x_i with weight 2/3, x_i ± √3·u(x_i) with 1/6 each
//
// which is |∂f/∂x_i|·u(x_i) where f is straight over ± u, and sees most of
// what it is not where a soft hose makes it bend. The value stays f at the
// parameters' own values.
//
// Source: [1] 5.1.2 note (higher-order terms) and 5.1.3 note 2 (numerical
// calculation); Gauss–Hermite rule of three points (mark C). Degrees of freedom
// are infinite, as for uncertainties that are taken from ranges.
func propagate(parameters []Parameter, f func(x []float64) float64) (float64, uncertainty.Budget) {
	x := make([]float64, len(parameters))
	for i, p := range parameters {
		x[i] = p.Value
	}
	value := f(x)
	var budget uncertainty.Budget
	for i, p := range parameters {
		x[i] = p.Value + math.Sqrt(3)*p.U
		up := f(x) - value
		x[i] = p.Value - math.Sqrt(3)*p.U
		down := f(x) - value
		x[i] = p.Value
		// What does not enter f is bit for bit the same on both sides.
		if u := threePoints(up, down); u != 0 {
			budget = append(budget, uncertainty.Line{
				Source: p.Name, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Note: p.Source,
			})
		}
	}
	return value, budget
}

// threePoints is the standard deviation of something that is 0 with weight 2/3
// and up or down with 1/6 each.
func threePoints(up, down float64) float64 {
	mean := (up + down) / 6
	return math.Sqrt((up*up+down*down)/6 - mean*mean)
}
