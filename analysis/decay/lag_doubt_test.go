package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Coefficient and lag that come out of the same run are correlated: drawn so,
// the decay rate scatters as the budget says, whose two lines have what they
// have in common in one of them. Without the correlation the claim would be
// off by a third and more.
//
// Source: JCGM 100:2008, 5.2.2, eq. 13 (mark M); JCGM 101:2008, clause 7
// (mark M).
func TestCorrelatedLagAndCoefficient(t *testing.T) {
	t.Parallel()
	const b, uB, lag, uLag, trials = 5 * bar, 0.5 * bar, -60.0, 15.0, 200
	liquid := func(t float64) float64 { return 293 + 1.5e-3*t - 3e-6*t*t }
	for _, rho := range []float64{-0.9, 0, 0.9} {
		random := rand.New(rand.NewPCG(77, 1))
		var square, claimed float64
		for range trials {
			x, y := random.NormFloat64(), random.NormFloat64()
			trueB, trueLag := b+uB*x, -lag-uLag*(rho*x+math.Sqrt(1-rho*rho)*y)
			// The probe follows the liquid: exact for a parabola.
			probe := func(t float64) float64 {
				return 293 + 1.5e-3*(t-trueLag) - 3e-6*(t*t-2*trueLag*t+2*trueLag*trueLag)
			}
			in := Input{Start: 100, End: 400, Locked: 50, Known: Characterised{
				ThermalCoefficient: exactly(b, uB), Lag: exactly(lag, uLag), LagCorrelation: rho}}
			in.Temperature = sampled(0, 400, 1, func(t float64) float64 { return probe(t-100) + 0.002*random.NormFloat64() })
			in.Pressure = sampled(0, 400, 1, func(t float64) float64 {
				t -= 100
				return 100*bar - 500*t + trueB*(liquid(t)-liquid(0)) + 500*random.NormFloat64()
			})
			rate := Fit(in, Options{}).Estimates["decay_rate"]
			square += math.Pow(rate.Value-500, 2) / trials
			claimed += rate.StdUncertainty * rate.StdUncertainty / trials
		}
		t.Logf("correlation %g: seen %.4g, claimed %.4g", rho, math.Sqrt(square), math.Sqrt(claimed))
		assert.InEpsilon(t, math.Sqrt(square), math.Sqrt(claimed), 0.15)
	}
}

// A lag known to ± as much as itself, over a bend that is as quick: the three
// points see what a slope at the middle does not.
func TestLargeDoubtOfALagIsNotLinear(t *testing.T) {
	r := response{liquid: 1, lower: 1.3, upper: 1.3}
	f := &fitting{upper: &liquid{}}
	assert.Zero(t, r.alongLag())
	assert.InDelta(t, 0.3/math.Sqrt(3), f.byLag(r), 1e-12)
	r = response{liquid: 1, lower: 1 - math.Sqrt(3)*0.2, upper: 1 + math.Sqrt(3)*0.2}
	assert.InDelta(t, 0.2, f.byLag(r), 1e-12)
	assert.InDelta(t, 0.2, r.alongLag(), 1e-12)
}
