package result

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/fit"
	"holdbench/analysis/uncertainty"
	"holdbench/daq/bench"
)

// What was characterised of noise and drift, and what the procedure states of
// the temperature, is what a plan reckons with, and it says so.
func TestExpectedTakesWhatWasCharacterisedAndStated(t *testing.T) {
	at := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	b, p := benchNine(t)
	circuit := b.Positions[0].Circuits[0]
	plain, from := Expected(b, p, circuit, at)
	assert.True(t, from.SwingAssumed)
	assert.Contains(t, from.Swing, "assumed")
	assert.Equal(t, ExpectedTemperatureChange, plain.TemperatureChange)
	assert.Equal(t, "bench file", from.Drift)

	exact := func(value, u float64) *uncertainty.Estimate {
		return &uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1)}
	}
	block := bench.Characterisation{
		Bench: b.Name, Model: p.Model, Circuit: circuit.Name, Fluid: p.Fluid, PressureLow: 0, PressureHigh: 2 * p.TestPressure,
		Date: at.AddDate(0, -1, 0), Expiry: at.AddDate(1, 0, 0), Source: "invented",
		Noise: exact(700, 0), NoiseAutocorrelation: 0.6, Drift: exact(-3, 4),
	}
	b.Characterisations = []bench.Characterisation{block}
	p.TemperatureSwing = 1.5
	full, from := Expected(b, p, circuit, at)
	assert.Empty(t, from.NotCharacterised)
	assert.Equal(t, "characterised", from.Noise)
	assert.Equal(t, 700.0, full.Noise)
	want, _ := fit.AR1Inflation(0.6, 1000)
	assert.Equal(t, 2.0, want)
	assert.InEpsilon(t, want, full.Inflation, 1e-12)
	assert.InEpsilon(t, 5, full.Transducer.Drift, 1e-12, "√(3² + 4²) Pa/s")
	assert.Contains(t, from.Drift, "characterised")
	assert.Equal(t, 1.5, full.TemperatureChange)
	assert.False(t, from.SwingAssumed)

	b.Characterisations[0].Drift, b.Characterisations[0].NoiseAutocorrelation = exact(0, plain.Transducer.Drift/2), math.NaN()
	less, from := Expected(b, p, circuit, at)
	assert.Equal(t, plain.Transducer.Drift, less.Transducer.Drift, "the larger of the two")
	assert.Equal(t, "bench file", from.Drift)
	assert.LessOrEqual(t, less.Inflation, 1.0)
}
