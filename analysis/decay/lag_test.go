package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
)

func liquidFrom(t *testing.T, probe func(t float64) float64, lag float64) (*liquid, []float64) {
	t.Helper()
	s, err := smoothed(sampled(100, 400, 0.5, probe), 100, 400, 0)
	require.NoError(t, err)
	times := sampled(100, 400, 1, probe).Time
	return s.liquidOf(lag, sampled(0, 99.5, 0.5, probe), times, 100), times
}

// A liquid that follows a ramp runs behind it by rate times lag: T_f =
// a·(t − lag). What is not recorded of the ramp is taken to have been as its
// start; had the probe stood still before, T_f would be higher by
// a·lag·e^(−t/lag), which is the doubt. Mark L.
func TestLiquidFollowsARamp(t *testing.T) {
	t.Parallel()
	const rate, lag = 0.001, 40.0
	l, times := liquidFrom(t, func(t float64) float64 { return 293 + rate*t }, lag)
	for i, at := range times {
		assert.InDelta(t, 293+rate*(at-lag), l.at[i], 1.5e-4)
	}
	assert.InDelta(t, l.at[0], l.start, 1e-9)
	assert.InEpsilon(t, rate*lag*math.Exp(-100/lag), l.startDoubt, 1e-3)
}

// With a long record before the hold the liquid knows its past: whatever the
// probe did before is forgotten. Without any, it starts behind a ramp by rate
// times lag, give or take all of it.
func TestLiquidForgetsWhatWasBeforeTheRecord(t *testing.T) {
	t.Parallel()
	const rate, lag = 0.001, 10.0
	probe := func(t float64) float64 { return 293 + rate*t }
	s, err := smoothed(sampled(100, 400, 0.5, probe), 100, 400, 0)
	require.NoError(t, err)
	times := sampled(100, 400, 1, probe).Time
	long := s.liquidOf(lag, sampled(-100, 99.5, 0.5, probe), times, 100)
	assert.Less(t, long.startDoubt, 1e-10)
	none := s.liquidOf(lag, series.Column{}, times, 100)
	assert.InEpsilon(t, rate*lag, none.startDoubt, 1e-6)
	for i := range times {
		assert.InDelta(t, long.at[i], none.at[i], 1e-5)
	}
}

// The probe that follows the liquid is corrected by its own slope. Mark L.
func TestLiquidLeadsTheProbe(t *testing.T) {
	t.Parallel()
	const rate, lag = 0.001, 40.0
	l, times := liquidFrom(t, func(t float64) float64 { return 293 + rate*(t-lag) + 2e-6*t*t }, -lag)
	for i, at := range times {
		assert.InDelta(t, 293+rate*(at-lag)+2e-6*at*at+lag*(rate+4e-6*at), l.at[i], 3e-6)
	}
}

// Both forms meet at no lag, so that an uncertain lag may cross 0.
func TestLagIsContinuousAcrossZero(t *testing.T) {
	t.Parallel()
	probe := func(t float64) float64 { return 293 + 0.2*math.Exp(-t/150) }
	before, times := liquidFrom(t, probe, -0.01)
	after, _ := liquidFrom(t, probe, 0.01)
	for i := range times {
		assert.InDelta(t, before.at[i], after.at[i], 1e-4)
	}
}

// The claimed noise of any weighted sum is what repeated readings show.
func TestLiquidNoiseAgreesWithRepetition(t *testing.T) {
	t.Parallel()
	const sigma, runs = 0.02, 300
	for name, lag := range map[string]float64{"none": 0, "follows": 60, "leads": -20} {
		t.Run(name, func(t *testing.T) {
			var sum, square, claimed float64
			for seed := range uint64(runs) {
				noise := white(seed, sigma)
				s, err := smoothed(sampled(100, 400, 1, func(float64) float64 { return 293 + noise() }), 100, 400, 0)
				require.NoError(t, err)
				times := sampled(100, 400, 1, func(float64) float64 { return 0 }).Time
				l := s.liquidOf(lag, sampled(0, 99, 1, func(float64) float64 { return 293 + noise() }), times, 100)
				w, _ := slopeWeights(times)
				v := l.since(w)
				sum += v
				square += v * v
				claimed += l.noiseOf(l.shapesSince(w)) / runs
			}
			seen := math.Sqrt(square/runs - sum*sum/runs/runs)
			assert.InEpsilon(t, seen, claimed, 0.2)
		})
	}
}

func TestLagStepWeightsSumToOne(t *testing.T) {
	t.Parallel()
	for _, r := range []float64{1e-9, 1e-3, 0.5, 3, 50} {
		keep, first, second := lagStep(r, 1)
		assert.InDelta(t, 1, keep+first+second, 1e-12)
	}
}

func TestTemperaturesAsGivenAreInterpolated(t *testing.T) {
	c := series.Column{Time: []float64{0, 10}, Value: []float64{290, 300}}
	l := asGiven(c, []float64{-1, 5, 11}, 0)
	assert.Equal(t, []float64{290, 295, 300}, l.at)
	assert.Zero(t, l.noiseOf(l.shapesSince([]float64{1, 1, 1})))
}
