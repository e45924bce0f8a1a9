package analysis

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/verdict"
)

// kinked rests at rest (Pa) after it has fallen there by fall (Pa) from t0 on
// with the time constant tau (s).
func kinked(seed uint64, hz, rest, fall, tau float64) Hold {
	m := good()
	m.seed, m.interval, m.tempInterval, m.start, m.leak = seed, 1/hz, 1, rest, 0
	m.add = func(t float64) float64 { return fall * math.Exp(-math.Max(t, 0)/tau) }
	h := m.hold()
	h.Locked = math.NaN()
	return h
}

// A start that bends is no licence to start anywhere.
func TestKinkedStartOutsideItsWindowIsNotJudged(t *testing.T) {
	t.Parallel()
	for _, hz := range []float64{1, 2, 5, 10} {
		for seed := range uint64(10) {
			for _, tau := range []float64{2, 4, 8, 20} {
				a := Assess(kinked(seed, hz, 70*bar, 14*bar, tau))
				require.False(t, a.Valid, "%g Hz, τ %g s", hz, tau)
				assert.Contains(t, strings.Join(a.Reasons, "\n"), "start pressure")
				assert.NotEqual(t, verdict.Pass, a.Verdict)
			}
		}
	}
}

// The pressure at t0 is that at t0, not that at which the circuit came to rest.
func TestKinkedStartInsideItsWindowIsJudged(t *testing.T) {
	t.Parallel()
	for _, hz := range []float64{2, 5, 10} {
		for _, tau := range []float64{4, 8, 20} {
			start, ok := startLevel(kinked(1, hz, 92*bar, 6*bar, tau))
			require.True(t, ok)
			assert.InDelta(t, 98*bar, start.value, 0.6*bar, "%g Hz, τ %g s", hz, tau)
			assert.Less(t, start.doubt, 0.2*bar)
			assert.True(t, Assess(kinked(1, hz, 92*bar, 6*bar, tau)).Valid)
		}
	}
}

// A straight start uses its whole part: the allowance is that of a line's end,
// 2σ/√m, and is right as often as it says.
func TestStartLevelAllowsForNoise(t *testing.T) {
	t.Parallel()
	const holds = 400
	beyond := 0
	for seed := range uint64(holds) {
		m := good()
		m.seed, m.interval, m.tempInterval = seed, 1, 1
		start, ok := startLevel(m.hold())
		require.True(t, ok)
		assert.InEpsilon(t, m.noise, start.sigma, 0.3)
		if start.value-start.doubt > m.start {
			beyond++
		}
	}
	assert.LessOrEqual(t, beyond, 12, "1 %% of %d, and what chance adds", holds)
	m := good()
	start, _ := startLevel(m.hold())
	assert.InEpsilon(t, 2.33*2*m.noise/math.Sqrt(300), start.doubt, 0.2)
}

// A spike among the first readings, and the very first, moves nothing.
func TestSpikeAtTheStartMovesNothing(t *testing.T) {
	t.Parallel()
	for _, hz := range []float64{0.2, 1, 10} {
		for after := range 3 {
			m := good()
			m.interval = 1 / hz
			h := m.hold()
			h.Trapped.Value[int(math.Round(h.Start*hz))+after] = 300 * bar
			start, ok := startLevel(h)
			require.True(t, ok)
			assert.InDelta(t, 100*bar, start.value, 0.05*bar, "%g Hz, reading %d", hz, after)
			assert.Less(t, start.doubt, 0.1*bar)
		}
	}
}

func TestStartWithTooFewReadingsIsNotJudged(t *testing.T) {
	h := good().hold()
	h.Trapped = cut(h.Trapped, h.Start+0.15, 1e9)
	_, ok := startLevel(h)
	assert.False(t, ok)
	a := Assess(h)
	assert.False(t, a.Valid)
	assert.Contains(t, strings.Join(a.Reasons, "\n"), "start pressure cannot be told")
}
