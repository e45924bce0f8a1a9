package analysis

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// beside is a good unit of two circuits: b rises at that rate from that level,
// and follows the temperature with half of the coefficient at test pressure.
func beside(seed uint64, level, rate, ramp float64) Hold {
	m := good()
	m.seed, m.leak, m.ramp = seed, 0, ramp
	m.prior = normal(5*bar, 0.1*bar, si.ThermalCoefficient)
	m.limits = []verdict.Limit{{Quantity: "other_circuit_rise", Value: 0.5 * bar, Written: "0.5 bar"}}
	h := m.hold()
	random := rand.New(rand.NewPCG(seed, 3))
	h.Other = &Other{
		Circuit: "b", VentedBelow: 3 * bar, ThermalCoefficient: h.Characterised.ThermalCoefficient,
		Transducer: Transducer{Low: math.NaN(), High: math.NaN()},
		Pressure: column("trapped_b", si.Pressure, m.interval, h.End, func(t float64) float64 {
			return level + (t-h.Start)*(rate+2.5*bar*m.ramp) + 0.01*bar*random.NormFloat64()
		}),
	}
	return h
}

func TestRiseOfTheOtherCircuitIsJudged(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		rate float64 // Pa/s
		ramp float64 // K/s
		want verdict.Verdict
	}{
		{"closed and steady", 0, 0, verdict.Pass},
		{"leaks across", 0.3 * barPerMin, 0, verdict.Fail},
		{"warms", 0, 1 * kPerHour, verdict.Pass},
		{"cools while it leaks across", 0.3 * barPerMin, -1 * kPerHour, verdict.Fail},
		{"warms by more than what is known of it allows", 0, 6 * kPerHour, verdict.Inconclusive},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := beside(4, 0.2*bar, c.rate, c.ramp)
			a := Assess(h)
			rise := a.Estimates["other_circuit_rise"]
			require.Empty(t, rise.Absent)
			assert.Equal(t, c.want, a.Verdict, "%v %v", a.Reasons, rise.Estimate)
			low, high := rise.Interval(0.95)
			truth := c.rate * (h.End - h.Start)
			assert.True(t, low <= truth+0.005*bar && high >= truth-0.005*bar, "%g not in %g…%g", truth, low, high)
		})
	}
}

func TestRiseOfTheOtherCircuitIsNotGivenWhereItSaysNothing(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(h *Hold){
		"no other circuit is recorded": func(h *Hold) { h.Other = nil },
		"circuit b was under pressure itself: 50.00 bar, vented is below 3.00 bar": func(h *Hold) {
			for i := range h.Other.Pressure.Value {
				h.Other.Pressure.Value[i] = 50 * bar
			}
		},
		"circuit b has valid readings over 0 % of the hold only": func(h *Hold) { h.Other.Pressure = series.Column{} },
	} {
		h := beside(4, 0.2*bar, 0, 0)
		spoil(&h)
		a := Assess(h)
		assert.Equal(t, name, a.Estimates["other_circuit_rise"].Absent)
		assert.Equal(t, verdict.Inconclusive, a.Verdict)
	}
}

// A coefficient that lies anywhere between none and its full value is covered
// as a rectangular distribution promises.
func TestRiseCoversWhatACircuitWithoutPressureMayDo(t *testing.T) {
	t.Parallel()
	inside := 0
	const runs = 60
	random := rand.New(rand.NewPCG(8, 8))
	for seed := range uint64(runs) {
		h := beside(seed, 0.2*bar, 0, 0)
		share, ramp := random.Float64(), 3*kPerHour
		for i, at := range h.Temperature.Time {
			h.Temperature.Value[i] += ramp * (at - h.Start)
		}
		for i, at := range h.Other.Pressure.Time {
			h.Other.Pressure.Value[i] += share * 5 * bar * ramp * (at - h.Start)
		}
		low, high := Assess(h).Estimates["other_circuit_rise"].Interval(0.95)
		if low <= 0 && high >= 0 {
			inside++
		}
	}
	assert.GreaterOrEqual(t, inside, 54, "of %d", runs)
}
