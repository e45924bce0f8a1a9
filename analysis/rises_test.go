package analysis

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/verdict"
)

// bare is a record without a thermometer under a limit that needs none.
func bare(hz float64, change func(m *made)) Hold {
	m := good()
	m.interval, m.leak, m.ramp = 1/hz, 0, 0
	change(&m)
	m.limits = []verdict.Limit{{Quantity: "pressure_end", Bound: verdict.Min, Value: 95 * bar}}
	h := m.hold()
	h.Temperature = series.Column{}
	return h
}

func TestRiseWithoutThermometerIsNotJudged(t *testing.T) {
	t.Parallel()
	const reason = "the pressure rises, and without a temperature nothing tells why"
	for _, hz := range []float64{0.2, 1, 2, 10, 50} {
		for name, c := range map[string]struct {
			made  func(m *made)
			rises bool
		}{
			"a feed that leaks in":     {func(m *made) { m.leak = -4 * barPerMin }, true},
			"a small but clear rise":   {func(m *made) { m.leak = -0.05 * barPerMin }, true},
			"steady":                   {func(m *made) { m.seed = 5 }, false},
			"falls":                    {func(m *made) { m.leak = 0.05 * barPerMin }, false},
			"rises by less than noise": {func(m *made) { m.leak, m.noise = -0.01*barPerMin, 3*bar }, false},
			"wanders and comes back": {func(m *made) {
				m.add = func(t float64) float64 { return 0.2 * bar * math.Cos(2*math.Pi*t/60) }
			}, false},
			"rises early and comes to rest": {func(m *made) {
				m.add = func(t float64) float64 { return -20 * bar * math.Expm1(-math.Max(t, 0)/20) }
			}, true},
		} {
			t.Run(fmt.Sprintf("%s, %g Hz", name, hz), func(t *testing.T) {
				a := Assess(bare(hz, c.made))
				if !c.rises {
					assert.NotContains(t, a.Reasons, reason)
					return
				}
				assert.False(t, a.Valid)
				assert.Equal(t, verdict.Inconclusive, a.Verdict)
				require.NotEmpty(t, a.Reasons)
				require.Equal(t, reason, a.Reasons[0])
				assert.Contains(t, strings.Join(a.Advice, "\n"), "record the liquid's temperature")
			})
		}
	}
}

// A steady record is taken for a rising one no oftener than the level says.
func TestSteadyRecordSeldomSeemsToRise(t *testing.T) {
	t.Parallel()
	const records = 300
	rising := 0
	for seed := range uint64(records) {
		if !Assess(bare(1, func(m *made) { m.seed = seed })).Valid {
			rising++
		}
	}
	assert.LessOrEqual(t, rising, 9, "1 %% of %d, and what chance adds", records)
}

// The transducer's own drift and rounding may be all the rise there is.
func TestRiseWithinTheTransducersDriftIsJudged(t *testing.T) {
	h := bare(2, func(m *made) { m.leak = -0.05 * barPerMin })
	h.Transducer.Drift = 0.05 * barPerMin
	a := Assess(h)
	assert.True(t, a.Valid, a.Reasons)
	assert.Equal(t, verdict.Pass, a.Verdict)
}

// With a thermometer it is the compensated pressure that counts.
func TestRiseThatTemperatureExplainsIsJudged(t *testing.T) {
	a := Assess(good().hold())
	assert.Less(t, a.Diagnostics.RawRate, 0.0, "the raw pressure rises")
	assert.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
}
