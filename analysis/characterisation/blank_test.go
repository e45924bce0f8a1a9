package characterisation

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"holdbench/analysis/uncertainty"
)

func TestBlankTellsNoiseAutocorrelationAndDrift(t *testing.T) {
	const runs = 50
	var drifts, noise, rho float64
	for seed := range uint64(runs) {
		m := reference()
		m.leak = -0.02e5 / 3600 // the transducer drifts upwards
		m.duration = 1800
		m.body = func(float64) float64 { return 293.15 }
		r := m.record(seed + 1)
		r.Known.ThermalCoefficient = &uncertainty.Estimate{Value: m.coefficient, StdUncertainty: 0.1e5, DegreesOfFreedom: math.Inf(1)}
		b := BlankOf(r)
		require.Empty(t, b.Refused)
		assert.NotEmpty(t, b.Thermal.Refused, "the temperature stood still")
		if covers(b.Drift.Estimate, -0.02e5/3600) {
			drifts++
		}
		noise += b.Noise.Value / runs
		rho += b.Autocorrelation / runs
	}
	t.Logf("seeds 1 to %d: coverage of the drift %.3f", runs, drifts/runs)
	assert.InEpsilon(t, 0.01e5, noise, 0.03)
	assert.InDelta(t, 0.6, rho, 0.03)
	assert.Greater(t, drifts/runs, 0.87)
}

func TestBlankFindsTheBenchsOwnCoefficientWhereTheTemperatureMoves(t *testing.T) {
	m := reference()
	b := BlankOf(m.record(4))
	require.Empty(t, b.Thermal.Refused)
	assert.InDelta(t, m.coefficient, b.Thermal.Coefficient.Value, 4*b.Thermal.Coefficient.StdUncertainty)
	assert.InDelta(t, m.leak, b.Drift.Value, 4*b.Drift.StdUncertainty)
	assert.InEpsilon(t, 0.01e5, b.Noise.Value, 0.05)
}

func TestBlankOfALeakIsNone(t *testing.T) {
	m := reference()
	m.leak, m.duration = 1.8e5/60, 600
	b := BlankOf(m.record(2))
	assert.Contains(t, b.Refused, "that is a leak")
	assert.Zero(t, b.Drift.Value)
}
