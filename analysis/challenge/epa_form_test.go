package challenge

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/uncertainty"
)

// Gallons per hour, n 24, threshold 0.05, limit 0.10. Statistical form of
// EPA/530/UST-90/004, form mark M; figures computed with an independent
// statistics package, mark C.
func TestEvaluationAgreesWithTheFormOfEPA530UST90004(t *testing.T) {
	for _, row := range []struct {
		bias, sd, tb, pfa, pd, c5, r95 float64
	}{
		{0, .0200, 0, .009997, .990003, .034277, .068555},
		{.005, .020, 1.2247, .017158, .994298, .039277, .068555},
		{.010, .025, 1.9596, .061623, .987558, .052847, .085694},
		{-.010, .025, -1.9596, .012442, .938377, .032847, .085694},
	} {
		e, err := FromMoments(24, row.bias, row.sd, .05, .10)
		require.NoError(t, err)
		assert.InDelta(t, row.tb, e.TBias, 5e-5)
		assert.InDelta(t, 2.0687, e.TCritical, 5e-5)
		assert.False(t, e.Significant, "none of these biases is significant, and two of them break the claim all the same")
		assert.InDelta(t, row.pfa, e.PFalseAlarm, 5e-7)
		assert.InDelta(t, row.pd, e.PDetection, 5e-7)
		assert.InDelta(t, row.c5, e.Threshold5, 5e-7)
		assert.InDelta(t, row.r95, e.Detectable95, 6e-7, "printed to six decimals")
		assert.InEpsilon(t, row.sd*1.3255, e.SDUpper, 5e-5)
	}
	// The classic threshold of half the limit passes if and only if
	// SD ≤ 0.029174 (n 24, no bias). Mark C.
	e, err := FromMoments(24, 0, .029174, .05, .10)
	require.NoError(t, err)
	assert.InDelta(t, .05, e.PFalseAlarm, 5e-6)
	assert.InDelta(t, .95, e.PDetection, 5e-6)
	assert.InDelta(t, 1.71387, e.Threshold5/.029174, 5e-6)
}

func TestSignificantBiasIsLeftIn(t *testing.T) {
	e, err := FromMoments(24, .02, .025, .05, .10)
	require.NoError(t, err)
	assert.True(t, e.Significant)
	without, err := FromMoments(24, 0, .025, .05, .10)
	require.NoError(t, err)
	assert.Greater(t, e.PFalseAlarm, without.PFalseAlarm)
	assert.Greater(t, e.PDetection, without.PDetection)
}

func TestEvaluateTakesMeanAndSampleScatter(t *testing.T) {
	e, err := Evaluate([]float64{1, 2, 4, 5}, 3, 6)
	require.NoError(t, err)
	assert.Equal(t, 4, e.N)
	assert.InDelta(t, 3, e.Bias, 1e-12)
	assert.InDelta(t, math.Sqrt(10.0/3), e.SD, 1e-12)
	assert.InDelta(t, 0.5, e.PFalseAlarm, 1e-12, "a threshold at the bias")

	_, err = Evaluate([]float64{1}, 3, 6)
	assert.ErrorIs(t, err, ErrFewRuns)
	_, err = Evaluate([]float64{1, math.NaN()}, 3, 6)
	assert.ErrorIs(t, err, ErrNotFinite)
	_, err = Evaluate([]float64{1, 2}, math.Inf(1), 6)
	assert.ErrorIs(t, err, ErrNotFinite)
}

func TestNoScatterDecidesWithCertainty(t *testing.T) {
	e, err := FromMoments(5, 0, 0, 1, 2)
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 1, 0}, []float64{e.PFalseAlarm, e.PDetection, e.TBias})
}

// One-sided 95 % bounds, exact. Source: Clopper–Pearson; 1 − 0.05^(1/n) for
// none, computed with an independent statistics package, mark C.
func TestBinomialBoundsAreExact(t *testing.T) {
	for _, row := range []struct {
		events, trials int
		want, half     float64
	}{
		{0, 21, .1329, 5e-5}, {0, 42, .0688, 5e-5}, {1, 20, .216, 5e-4}, {0, 59, .0495, 5e-5},
		{0, 21, .13295, 5e-6}, {0, 59, .04951, 5e-6},
	} {
		p := ProportionOf(row.events, row.trials)
		assert.InDelta(t, row.want, p.High, row.half, "%d of %d", row.events, row.trials)
	}
	assert.InDelta(t, 1-math.Pow(.05, 1.0/21), UpperBound(0, 21, .95), 1e-12)
	assert.Zero(t, ProportionOf(0, 21).Low)
	assert.Equal(t, 1.0, ProportionOf(21, 21).High)
	assert.True(t, math.IsNaN(ProportionOf(0, 0).High))
	assert.True(t, math.IsNaN(ProportionOf(0, 0).Low))
	assert.Panics(t, func() { ProportionOf(2, 1) })
}

// Law: at the upper bound, so few events have the chance 1 − confidence.
func TestBoundsAreWhereTheBinomialSaysSo(t *testing.T) {
	for trials := 1; trials < 30; trials += 4 {
		for events := 0; events < trials; events++ {
			p := UpperBound(events, trials, .95)
			var chance float64
			for k := 0; k <= events; k++ {
				ways, _ := math.Lgamma(float64(trials + 1))
				a, _ := math.Lgamma(float64(k + 1))
				b, _ := math.Lgamma(float64(trials - k + 1))
				chance += math.Exp(ways - a - b + float64(k)*math.Log(p) + float64(trials-k)*math.Log1p(-p))
			}
			assert.InDelta(t, .05, chance, 1e-9, "%d of %d", events, trials)
			assert.InDelta(t, 1-p, LowerBound(trials-events, trials, .95), 1e-12)
		}
	}
}

// The upper factor covers the true standard deviation in 95 % of samples.
func TestUpperFactorCovers(t *testing.T) {
	assert.InDelta(t, 1.3255, SDUpperFactor(24, .95), 5e-5, "C")
	assert.True(t, math.IsNaN(SDUpperFactor(1, .95)))
	rng := rand.New(rand.NewPCG(7, 0))
	covered, samples := 0, 4000
	for range samples {
		d := make([]float64, 6)
		for i := range d {
			d[i] = rng.NormFloat64()
		}
		e, err := Evaluate(d, 1, 2)
		require.NoError(t, err)
		if e.SDUpper >= 1 {
			covered++
		}
	}
	assert.InDelta(t, .95, float64(covered)/float64(samples), .012, "seed 7")
}

func TestChallengeIsPassedWithinAQuarterOfTheLimit(t *testing.T) {
	e := func(value, u float64) uncertainty.Estimate {
		return uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1)}
	}
	c := func(measured float64) Comparison {
		return Comparison{Measured: e(measured, .03), Own: e(.25, 0), Imposed: e(.5, .04), Limit: 1}
	}
	for _, row := range []struct {
		measured float64
		want     Outcome
	}{
		{.75, Passed}, {1, Passed}, {.5, Passed}, {1.001, Failed}, {.499, Failed},
		{math.NaN(), Unknown}, {math.Inf(1), Failed},
	} {
		assert.Equal(t, row.want, c(row.measured).Outcome(), "%g", row.measured)
	}
	d := c(.9).Difference()
	assert.InDelta(t, .15, d.Value, 1e-12)
	assert.InDelta(t, .05, d.StdUncertainty, 1e-12)
	assert.True(t, c(.9).Sharp())
	for _, limit := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		wrong := c(.9)
		wrong.Limit = limit
		assert.Equal(t, Unknown, wrong.Outcome(), "limit %g", limit)
	}
	dull := c(.9)
	dull.Measured.StdUncertainty = .13
	assert.Equal(t, Passed, dull.Outcome())
	assert.False(t, dull.Sharp())
	assert.Equal(t, []string{"cannot tell", "passed", "failed"}, []string{Unknown.String(), Passed.String(), Failed.String()})
}
