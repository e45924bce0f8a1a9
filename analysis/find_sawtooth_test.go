package analysis

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// sawtoothRecord is a powered unit's record: pressed up to 100 bar at 60 s,
// pumped up from 95 bar to 100 bar again and again, for three hours.
func sawtoothRecord(seed uint64, leak float64) series.Column {
	random := rand.New(rand.NewPCG(seed, 41))
	c := series.Column{Name: "trapped_a", Quantity: si.Pressure}
	p, pumping := 0.0, false
	for t := 0.0; t <= 3*3600; t += 2 {
		switch {
		case t < 60:
			p = 0
		case t < 70, pumping && p < 100*bar:
			p = min(p+1.5*bar*2+0.2*p, 100*bar)
			pumping = p < 100*bar
		default:
			p -= 2 * leak
			pumping = p < 95*bar
		}
		c.Time, c.Value = append(c.Time, t), append(c.Value, p+0.01*bar*random.NormFloat64())
	}
	return c
}

// In a bare record a unit that was pumped up again and again is one hold, with
// a segment for each time.
func TestSawtoothIsOneHoldInSegments(t *testing.T) {
	leak := 0.2 * barPerMin
	c := sawtoothRecord(1, leak)
	f, reason := FindHold(c, series.Column{}, FindOptions{})
	require.Empty(t, reason)
	require.GreaterOrEqual(t, len(f.Segments), 6)
	assert.Contains(t, f.How, "re-pumped")
	assert.Less(t, f.Start, 300.0)
	assert.Greater(t, f.End, 3*3600-3.0)
	assert.False(t, strings.Contains(strings.Join(f.Notes, " "), "another"), f.Notes)

	h := quiet(1).hold()
	h.Start, h.End, h.Locked, h.Trapped, h.Segments = f.Start, f.End, f.Locked, c, f.Segments
	h.TrappedInterval, h.TemperatureInterval = 2, 10
	random := rand.New(rand.NewPCG(1, 43))
	h.Temperature = column("temp_a", si.Temperature, 10, 3*3600, func(float64) float64 { return 293 + 0.01*random.NormFloat64() })
	h.Feed, h.FeedBelow, h.StartLow, h.StartHigh = series.Column{}, math.NaN(), math.NaN(), math.NaN()
	h.Limits = []verdict.Limit{{Quantity: "decay_rate", Value: 0.3 * barPerMin, RiskPass: 0.05, RiskFail: 0.05}}
	a := Assess(h)
	assert.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
	assert.Equal(t, len(f.Segments)-1, a.Diagnostics.Repumps)
	e := a.Estimates["decay_rate"]
	low, high := e.Interval(0.99)
	assert.True(t, low <= leak && leak <= high, "%g: %g to %g", leak, low, high)
	assert.InEpsilon(t, leak, a.Diagnostics.RepumpRate, 0.02)
	assert.Contains(t, strings.Join(a.Reasons, "; "), "re-pumped")
}

// Two re-pumps are few, and pressing up in steps before a hold is none.
func TestFewTopUpsAreNoSawtooth(t *testing.T) {
	c := sawtoothRecord(2, 0.02*barPerMin)
	f, reason := FindHold(c, series.Column{}, FindOptions{})
	require.Empty(t, reason)
	assert.Empty(t, f.Segments)
}
