package analysis

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

const barPerKelvin = bar

// swaying is a good unit in a room whose temperature goes up and down, so that
// the hold itself says what the thermal coefficient is.
func swaying(seed uint64) made {
	m := good()
	m.seed, m.duration, m.interval, m.tempInterval = seed, 900, 1, 1
	m.b, m.noise, m.tempNoise = 4.5*barPerKelvin, 0.01*bar, 0.003
	m.temp = func(t float64) float64 { return 293.15 + 0.1*math.Sin(t/100) }
	return m
}

func TestCoefficientThatTheHoldContradictsIsNotJudgedBy(t *testing.T) {
	for _, stated := range []float64{20, 0.5, -4.5} {
		m := swaying(1)
		m.prior = normal(stated*barPerKelvin, 0.2*barPerKelvin, si.ThermalCoefficient)
		a := Assess(m.hold())
		assert.False(t, a.Valid, stated)
		assert.Equal(t, verdict.Inconclusive, a.Verdict, stated)
		require.NotEmpty(t, a.Reasons)
		assert.Contains(t, strings.Join(a.Reasons, "\n"), "the hold contradicts the stated thermal coefficient: its pressure follows the temperature by 4.")
		assert.Contains(t, strings.Join(a.Advice, "\n"), "look at the thermal coefficient's characterisation")
	}
}

// A loose probe sees the room, not the liquid.
func TestLooseProbeContradictsTheCoefficient(t *testing.T) {
	m := swaying(2)
	m.prior = normal(4.5*barPerKelvin, 0.2*barPerKelvin, si.ThermalCoefficient)
	h := m.hold()
	for i, v := range h.Temperature.Value {
		h.Temperature.Value[i] = 293.15 + 4*(v-293.15)
	}
	assert.Contains(t, strings.Join(Assess(h).Reasons, "\n"), "contradicts the stated thermal coefficient")
}

// Coefficients whose error is what their uncertainty says are hardly ever
// called contradicted: 2 of 400 is what a chance of 0.001 leaves with 1 %.
func TestRightCoefficientIsHardlyEverCalledContradicted(t *testing.T) {
	wrong, spoken := 0, 0
	for seed := range uint64(400) {
		m := swaying(seed + 10)
		m.phi = 0.4
		off := math.Sin(float64(seed)*2.399) * math.Sqrt2 // of variance 1
		m.prior = normal((4.5+0.2*off)*barPerKelvin, 0.2*barPerKelvin, si.ThermalCoefficient)
		h := m.hold()
		h.Limits = nil
		a := Assess(h)
		if a.Diagnostics.OwnCoefficientU > 0 {
			spoken++
		}
		if strings.Contains(strings.Join(a.Reasons, "\n"), "contradicts") {
			wrong++
		}
	}
	assert.Greater(t, spoken, 300, "most holds must have a say")
	assert.LessOrEqual(t, wrong, 2)
}
