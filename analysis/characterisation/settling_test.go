package characterisation

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

func settlingBench() made {
	m := reference()
	m.duration, m.interval = 900, 0.5
	m.amplitude, m.tau = 0.5e5, 80
	m.body = func(t float64) float64 { return 293.15 + 0.3*t/3600 }
	return m
}

// known is a thermal coefficient as characterised before: drawn about the
// truth, with its standard uncertainty.
func known(rng *rand.Rand, truth float64) *uncertainty.Estimate {
	u := 0.03 * truth
	return &uncertainty.Estimate{Value: truth + u*rng.NormFloat64(), StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Quantity: si.ThermalCoefficient}
}

func TestSettlingRecoversTheTruthWithHonestCoverage(t *testing.T) {
	const runs = 80
	var amplitudes, taus, trends, n int
	for seed := range uint64(runs) {
		rng := rand.New(rand.NewPCG(seed+1, 5))
		m := settlingBench()
		m.amplitude *= 0.6 + 0.8*rng.Float64()
		m.tau *= 0.6 + 0.8*rng.Float64()
		slope := 0.6 * rng.NormFloat64()
		m.body = func(t float64) float64 { return 293.15 + slope*t/3600 }
		// The liquid was not quite at rest when it was locked, as the lag allows.
		m.offset = math.Max(m.lag*math.Abs(slope)/3600, 0.002) * rng.NormFloat64()
		r := m.record(seed + 1)
		r.Known.ThermalCoefficient = known(rng, m.coefficient)
		r.Known.Lag = &uncertainty.Estimate{Value: m.lag, StdUncertainty: 5, DegreesOfFreedom: math.Inf(1)}
		s := SettlingOf(r)
		require.Empty(t, s.Refused)
		require.NotNil(t, s.Exponential, s.ExponentialNo)
		n++
		if covers(s.Exponential.Amplitude.Estimate, m.amplitude) {
			amplitudes++
		}
		if covers(s.Exponential.TimeConstant.Estimate, m.tau) {
			taus++
		}
		if covers(s.Exponential.Trend, m.leak) {
			trends++
		}
		assert.Equal(t, "exponential", s.Prefers)
		assert.Less(t, s.Exponential.Amplitude.StdUncertainty, 0.25*m.amplitude)
	}
	t.Logf("seeds 1 to %d: coverage of the amplitude %.3f, of the time constant %.3f", runs, float64(amplitudes)/float64(n), float64(taus)/float64(n))
	assert.InDelta(t, 0.95, float64(amplitudes)/float64(n), 0.045)
	assert.InDelta(t, 0.95, float64(taus)/float64(n), 0.045)
}

func TestCreepIsTakenForWhatItIs(t *testing.T) {
	const runs = 60
	covered, preferred := 0, 0
	for seed := range uint64(runs) {
		m := settlingBench()
		m.amplitude, m.tau, m.creep, m.duration = 0, 0, 0.1e5, 1800
		m.body = func(float64) float64 { return 293.15 }
		r := m.record(seed + 1)
		// The made creep counts from 2 s before locking.
		r.Locked, r.Start = -2, 1
		s := SettlingOf(r)
		require.NotNil(t, s.Creep, s.CreepNo)
		if covers(s.Creep.Estimate, m.creep) {
			covered++
		}
		if s.Prefers == "creep" {
			preferred++
		}
	}
	t.Logf("coverage of creep %.3f, preferred in %d of %d", float64(covered)/runs, preferred, runs)
	assert.InDelta(t, 0.95, float64(covered)/runs, 0.05)
	assert.Greater(t, preferred, 54)
}

func TestSettlingThatOutlastsTheRunIsRefused(t *testing.T) {
	m := settlingBench()
	m.tau, m.amplitude, m.duration = 600, 1e5, 400
	r := m.record(3)
	r.Start = 50
	r.Known.ThermalCoefficient = &uncertainty.Estimate{Value: m.coefficient, StdUncertainty: 1e4, DegreesOfFreedom: math.Inf(1)}
	s := SettlingOf(r)
	assert.Nil(t, s.Exponential)
	assert.Nil(t, s.Creep)
	assert.Contains(t, s.CreepNo, "creep needs a record that ends 32 times as long after locking as it begins")
	assert.NotEmpty(t, s.Refused)

	r.Locked = math.NaN()
	assert.Contains(t, SettlingOf(r).Refused, "the instant of locking is not known")
}

// Without a characterised coefficient the doubt of it is in the figures.
func TestSettlingUnderAnUnknownCoefficientIsWide(t *testing.T) {
	m := settlingBench()
	m.body = func(t float64) float64 { return 293.15 + 0.05*(1-math.Exp(-t/200)) }
	r := m.record(3)
	wide := SettlingOf(r)
	r.Known.ThermalCoefficient = &uncertainty.Estimate{Value: m.coefficient, StdUncertainty: 1e4, DegreesOfFreedom: math.Inf(1)}
	narrow := SettlingOf(r)
	require.NotNil(t, narrow.Exponential)
	if wide.Exponential != nil {
		assert.Greater(t, wide.Exponential.Amplitude.StdUncertainty, 2*narrow.Exponential.Amplitude.StdUncertainty)
	}
}
