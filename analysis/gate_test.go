package analysis

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// good is a unit with a small leak under a limit that it keeps.
func good() made {
	m := noisyThermometer(3)
	m.leak = 0.05 * barPerMin
	m.limits = []verdict.Limit{{Quantity: "decay_rate", Value: 0.2 * barPerMin, Written: "0.2 bar/min"}}
	return m
}

func TestGoodUnitPasses(t *testing.T) {
	a := Assess(good().hold())
	assert.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
	assert.True(t, a.Valid)
	assert.True(t, a.Completed)
	assert.Empty(t, a.Advice)
	require.Len(t, a.Decisions, 1)
	rate := a.Estimates["decay_rate"]
	assert.InDelta(t, rate.Value+uncertainty.T(0.95, rate.DegreesOfFreedom)*rate.StdUncertainty, a.Decisions[0].DecidedBy, 1e-9)
	assert.InDelta(t, 1, a.Diagnostics.ValidShare, 1e-9)
	for _, row := range verdict.Quantities {
		q, ok := a.Estimates[row.Name]
		require.True(t, ok, row.Name)
		assert.Equal(t, row.Quantity, q.Quantity, row.Name)
	}
}

// Raw pressure would fail the cooling unit and pass the leaking one in the
// warming bench.
func TestTemperatureNeitherFailsAGoodUnitNorHidesALeak(t *testing.T) {
	cooling := good()
	cooling.ramp, cooling.prior = -6*kPerHour, normal(5*bar, 0.1*bar, si.ThermalCoefficient)
	a := Assess(cooling.hold())
	assert.Greater(t, a.Diagnostics.RawRate, 0.2*barPerMin)
	assert.Equal(t, verdict.Pass, a.Verdict, a.Reasons)

	warming := good()
	warming.leak, warming.ramp, warming.prior = 0.5*barPerMin, 6*kPerHour, normal(5*bar, 0.1*bar, si.ThermalCoefficient)
	a = Assess(warming.hold())
	assert.Less(t, a.Diagnostics.RawRate, 0.2*barPerMin)
	assert.Equal(t, verdict.Fail, a.Verdict, a.Reasons)
	assert.Contains(t, a.Reasons[0], "breaks the limit of 0.2 bar/min")
}

// spoil edits the trapped column's values from a time on.
func spoil(c series.Column, from, to float64, f func(t, v float64) float64) series.Column {
	c.Value = append([]float64(nil), c.Value...)
	for i, t := range c.Time {
		if t >= from && t < to {
			c.Value[i] = f(t, c.Value[i])
		}
	}
	return c
}

func cut(c series.Column, from, to float64) series.Column {
	out := series.Column{Name: c.Name, Quantity: c.Quantity}
	for i, t := range c.Time {
		if t < from || t >= to {
			out.Time, out.Value = append(out.Time, t), append(out.Value, c.Value[i])
		}
	}
	return out
}

func TestGateTurnsAwayWhatMayNotBeJudged(t *testing.T) {
	nan := func(_, _ float64) float64 { return math.NaN() }
	for name, c := range map[string]struct {
		made   func(m *made)
		hold   func(h *Hold)
		reason string // empty: judged
	}{
		"nothing wrong":  {},
		"not completed":  {hold: func(h *Hold) { h.Completed = false }, reason: "not completed"},
		"pressure rises": {made: func(m *made) { m.leak = -0.3 * barPerMin }, reason: "compensated pressure rises"},
		"rises within doubt": {made: func(m *made) {
			m.leak = -0.02 * barPerMin
			m.prior = normal(5*bar, 1*bar, si.ThermalCoefficient)
		}},
		"start too low":       {made: func(m *made) { m.start = 94.5 * bar }, reason: "start pressure 94.50 bar is outside its window of 95.00 bar to 105.00 bar"},
		"start too high":      {made: func(m *made) { m.start = 106 * bar }, reason: "outside its window"},
		"start low by noise":  {made: func(m *made) { m.start = 95*bar - 50 }},
		"start only bounded":  {hold: func(h *Hold) { h.StartHigh = math.NaN() }},
		"feed not vented":     {hold: func(h *Hold) { h.Feed = spoil(h.Feed, 0, 500, func(_, _ float64) float64 { return 80 * bar }) }, reason: "feed side is not vented: 80.00 bar"},
		"feed rises late":     {hold: func(h *Hold) { h.Feed = spoil(h.Feed, 380, 500, func(_, _ float64) float64 { return 6 * bar }) }, reason: "feed side is not vented"},
		"one spike on feed":   {hold: func(h *Hold) { h.Feed = spoil(h.Feed, 200, 201, func(_, _ float64) float64 { return 80 * bar }) }},
		"feed channel dead":   {hold: func(h *Hold) { h.Feed = spoil(h.Feed, 0, 500, nan) }, reason: "the feed side has valid readings over 0 %"},
		"no feed channel":     {hold: func(h *Hold) { h.Feed = series.Column{} }, reason: "the feed side has valid readings over 0 %"},
		"feed declared so":    {hold: func(h *Hold) { h.Feed, h.FeedDeclaredUnmeasured = series.Column{}, true }},
		"gap in pressure":     {hold: func(h *Hold) { h.Trapped = cut(h.Trapped, 200, 220) }, reason: "valid pressure readings cover 93 %"},
		"short gap":           {hold: func(h *Hold) { h.Trapped = cut(h.Trapped, 200, 210) }},
		"invalid pressures":   {hold: func(h *Hold) { h.Trapped = spoil(h.Trapped, 200, 220, nan) }, reason: "valid pressure readings cover 93 %"},
		"hold ends too early": {hold: func(h *Hold) { h.Trapped = cut(h.Trapped, 370, 500) }, reason: "valid pressure readings cover 90 %"},
		"invalid temperature": {hold: func(h *Hold) { h.Temperature = spoil(h.Temperature, 200, 220, nan) }, reason: "valid temperature readings cover 93 %"},
		"pressure stuck": {hold: func(h *Hold) {
			h.Trapped = spoil(h.Trapped, 300, 500, func(_, _ float64) float64 { return 99.9 * bar })
		}, reason: "pressure channel is stuck: 1001 successive readings are identical"},
		"pressure stuck all along": {hold: func(h *Hold) {
			h.Trapped = spoil(h.Trapped, 100, 500, func(_, _ float64) float64 { return 99.9 * bar })
		}, reason: "pressure channel is stuck: its reading never changed"},
		"temperature stuck": {hold: func(h *Hold) {
			h.Temperature = spoil(h.Temperature, 250, 500, func(_, _ float64) float64 { return 293.2 })
		}, reason: "temperature channel is stuck"},
		"temperature saturated": {hold: func(h *Hold) { h.Thermometer.High = 293 }, reason: "temperature channel is saturated"},
		"pressure saturated":    {hold: func(h *Hold) { h.Transducer.High = 99.9 * bar }, reason: "pressure channel is saturated"},
		"coarse thermometer that hardly moves": {made: func(m *made) {
			m.tempNoise, m.tempRound, m.ramp = 0.002, 0.1, 0.2*kPerHour
		}},
		"no hold": {hold: func(h *Hold) { h.Start, h.End = math.NaN(), math.NaN() }, reason: ReasonNoHold},
	} {
		t.Run(name, func(t *testing.T) {
			m := good()
			if c.made != nil {
				c.made(&m)
			}
			h := m.hold()
			if c.hold != nil {
				c.hold(&h)
			}
			a := Assess(h)
			if c.reason == "" {
				assert.True(t, a.Valid, a.Reasons)
				return
			}
			assert.False(t, a.Valid)
			assert.Equal(t, verdict.Inconclusive, a.Verdict)
			require.NotEmpty(t, a.Reasons)
			assert.Contains(t, strings.Join(a.Reasons, "\n"), c.reason)
			require.Len(t, a.Decisions, 1)
			assert.Equal(t, verdict.Inconclusive, a.Decisions[0].Verdict)
			assert.True(t, math.IsNaN(a.Decisions[0].DecidedBy))
			assert.Equal(t, ReasonNotJudged, a.Decisions[0].Reason)
			assert.Len(t, a.Estimates, len(verdict.Quantities))
		})
	}
}

// A bare record has no procedure: what it cannot check is said, not held
// against it.
func TestBareRecordSaysWhatWasNotChecked(t *testing.T) {
	h := good().hold()
	h.StartLow, h.StartHigh, h.FeedBelow, h.Locked = math.NaN(), math.NaN(), math.NaN(), math.NaN()
	h.Feed = series.Column{}
	a := Assess(h)
	assert.True(t, a.Valid)
	assert.Equal(t, verdict.Pass, a.Verdict)
	all := strings.Join(a.Reasons, "\n")
	assert.Contains(t, all, "start pressure not checked")
	assert.Contains(t, all, "feed side not checked")
}

func TestAllReasonsAreGivenGravestFirst(t *testing.T) {
	m := good()
	m.leak, m.start = -1*barPerMin, 90*bar
	h := m.hold()
	h.Completed = false
	h.Feed = spoil(h.Feed, 0, 500, func(_, _ float64) float64 { return 80 * bar })
	a := Assess(h)
	require.Len(t, a.Reasons, 4)
	for i, want := range []string{"rises", "feed side is not vented", "start pressure", "not completed"} {
		assert.Contains(t, a.Reasons[i], want)
	}
	assert.NotEmpty(t, a.Advice)
}

func TestInvalidReadingsAreCounted(t *testing.T) {
	h := good().hold()
	h.Trapped = spoil(h.Trapped, 200, 201.95, func(_, _ float64) float64 { return math.NaN() })
	h.Trapped.Value[3000] = 500 * bar
	a := Assess(h)
	assert.Equal(t, 20, a.InvalidReadings)
	assert.Zero(t, a.InvalidTemperatures)
	assert.Equal(t, 1, a.Diagnostics.SetAside)
	assert.Contains(t, strings.Join(a.Reasons, "\n"), "1 pressure reading set aside as a spike")
	assert.Equal(t, verdict.Pass, a.Verdict)
}

// The same numbers give the same answer, and the hold is left as it was.
func TestAssessIsPure(t *testing.T) {
	h := good().hold()
	before := append([]float64(nil), h.Trapped.Value...)
	a, b := Assess(h), Assess(h)
	assert.Equal(t, a.Estimates["decay_rate"], b.Estimates["decay_rate"])
	assert.Equal(t, a.Curves, b.Curves)
	assert.Equal(t, before, h.Trapped.Value)
}

func TestValidShare(t *testing.T) {
	c := column("p", si.Pressure, 1, 100, func(float64) float64 { return 1 })
	assert.InDelta(t, 1, validShare(c, 0, 100, 1), 1e-12)
	assert.InDelta(t, 1, validShare(c, 0, 100, 0), 1e-12)
	assert.InDelta(t, 0.5, validShare(c, 0, 200, 1), 0.01)
	assert.InDelta(t, 0.5, validShare(c, 0, 100, 0.5), 0.01, "half the readings never came")
	assert.InDelta(t, 0.90, validShare(cut(c, 40, 49.5), 0, 100, 1), 1e-9)
	assert.Zero(t, validShare(series.Column{}, 0, 100, 1))
	assert.InDelta(t, 1, validShare(column("p", si.Pressure, 1.06, 100, func(float64) float64 { return 1 }), 0, 100, 1), 0.01,
		"a stream a little slower than declared has no gap")
}
