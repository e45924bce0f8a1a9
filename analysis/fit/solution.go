package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Solution is a fitted nonlinear model.
type Solution struct {
	// Parameters as fitted; of a separable model the linear ones first.
	Parameters []float64
	// Covariance of the parameters, (JᵀJ/σ² + P)⁻¹ with P the priors' 1/u²;
	// without priors σ²(JᵀJ)⁻¹. nil with an error.
	Covariance *mat.SymDense
	// RSS is Σr², without the priors.
	RSS float64
	// ResidualStd is s = √(RSS/ν), in the unit of y.
	ResidualStd float64
	// DegreesOfFreedom ν of ResidualStd: observations − parameters; with
	// priors the observations less their own share of the parameters, so not
	// always a whole number. The covariance has as many, unless Options.Sigma
	// was given: then infinitely many.
	DegreesOfFreedom float64
	// Sigma is the standard deviation of the noise that Covariance stands on:
	// Options.Sigma if given, else ResidualStd.
	Sigma float64
	// Residuals r = y − f in the order of the data.
	Residuals []float64
	// Outcome is how the fit ended, Tries how many points it took.
	Outcome Outcome
	Tries   int

	priors []Prior
}

// StdUncertainty returns the standard uncertainty of parameter i. It panics
// if there is none.
func (s Solution) StdUncertainty(i int) float64 { return math.Sqrt(s.Covariance.At(i, i)) }

// Correlation returns the correlation coefficient of parameters i and j. It
// panics if there is none of them; it is NaN where an uncertainty is 0.
func (s Solution) Correlation(i, j int) float64 {
	return s.Covariance.At(i, j) / (s.StdUncertainty(i) * s.StdUncertainty(j))
}

// Propagate returns the standard uncertainty of a function of the parameters
// from its derivatives by them. It panics if len(gradient) is not the number
// of parameters.
//
// Source: [1] 5.2.2, eq. 13.
func (s Solution) Propagate(gradient []float64) float64 {
	g := mat.NewVecDense(len(gradient), gradient)
	return math.Sqrt(mat.Inner(g, s.Covariance, g))
}

// Inflated returns the covariance with the standard uncertainties of the part
// that comes from noise multiplied by factor (see AR1Inflation); the part that
// comes from priors stays as it is.
func (s Solution) Inflated(factor float64) *mat.SymDense {
	size := len(s.Parameters)
	fromPriors := mat.NewSymDense(size, nil) // C·P·C
	for _, p := range s.priors {
		column := mat.NewVecDense(size, mat.Col(nil, p.Parameter, s.Covariance))
		fromPriors.SymRankOne(fromPriors, 1/(p.StdUncertainty*p.StdUncertainty), column)
	}
	inflated, square := mat.NewSymDense(size, nil), factor*factor // factor²·(C − CPC) + CPC
	inflated.ScaleSym(square, s.Covariance)
	fromPriors.ScaleSym(1-square, fromPriors)
	inflated.AddSym(inflated, fromPriors)
	return inflated
}

// mostRounds is how often a fit with priors and unknown noise is repeated at
// most; some four do.
const mostRounds = 100

// firstTolerance, of the first of these rounds, gives the noise to six digits.
const firstTolerance = 1e-3

// settle fits with the noise as given, or repeats the fit until the noise it
// was given is that of its residuals.
func settle(s surface, start []float64, parameters int, o Options) (Solution, error) {
	sigma, x := o.Sigma, start
	if sigma == 0 {
		sigma = 1
		if len(o.Priors) > 0 {
			sigma = firstNoise(s, start)
		}
	}
	repeated := o.Sigma == 0 && len(o.Priors) > 0
	tries := 0
	for round := range mostRounds {
		s.weigh(sigma)
		d := newDescent(s, x, float64(s.rows()-parameters), o)
		if repeated && round == 0 {
			d.tolerance = max(d.tolerance, firstTolerance)
		}
		outcome, tried := d.run()
		tries += tried
		solution := conclude(s, d, o, outcome, tries, sigma)
		if err := solution.Outcome.Err(); err != nil {
			return solution, err
		}
		if !repeated || round > 0 && s.same(sigma, solution.ResidualStd) {
			return solution, nil
		}
		sigma, x = solution.ResidualStd, d.x
	}
	return Solution{Parameters: s.parameters(x), Outcome: IterationLimit, Tries: tries}, IterationLimit.Err()
}

// firstNoise is the noise to begin with, that of the residuals at the start.
// It is large, so that at first the priors count for much.
func firstNoise(s surface, start []float64) float64 {
	s.weigh(0)
	sum := s.try(start)
	if n := float64(len(s.residuals())); finite(sum) && sum > 0 {
		return math.Sqrt(sum / n)
	}
	return 1
}

// conclude makes the solution of where the descent ended. The rows that were
// fitted carried the noise sigma.
func conclude(s surface, d *descent, o Options, outcome Outcome, tries int, sigma float64) Solution {
	solution := Solution{
		Parameters: s.parameters(d.x),
		Residuals:  s.residuals(),
		Outcome:    outcome,
		Tries:      tries,
		Sigma:      sigma,
		priors:     o.Priors,
	}
	if outcome.Err() != nil {
		return solution
	}
	size := len(solution.Parameters)
	inverse, apart := s.jacobian().inverse()
	if !apart {
		solution.Outcome = Dependent
		return solution
	}
	unscaled := mat.NewSymDense(size, nil) // (JᵀJ + σ²P)⁻¹
	unscaled.SymOuterK(1, inverse)
	solution.RSS = sumOfSquares(solution.Residuals)
	solution.DegreesOfFreedom = float64(len(solution.Residuals) - size)
	for _, p := range o.Priors {
		u := p.StdUncertainty / sigma
		solution.DegreesOfFreedom += unscaled.At(p.Parameter, p.Parameter) / (u * u)
	}
	solution.ResidualStd = math.Sqrt(solution.RSS / solution.DegreesOfFreedom)
	if o.Sigma == 0 && len(o.Priors) == 0 {
		solution.Sigma = solution.ResidualStd
	}
	solution.Covariance = unscaled
	solution.Covariance.ScaleSym(solution.Sigma*solution.Sigma, unscaled)
	return solution
}
