package analysis

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// scanRates are rates of scanning from a slow logger's to a quick one's, Hz.
var scanRates = []float64{0.2, 1, 2, 5, 10, 50}

// collapsing stands at 100 bar until began (s before t0), loses rate (Pa/s)
// from there on until nothing is left, and was locked 40 s before t0.
func collapsing(hz, rate, began float64) Hold {
	m := good()
	m.interval, m.tempInterval, m.leak, m.ramp = 1/hz, 1, 0, 0
	m.add = func(t float64) float64 { return -math.Min(100*bar, rate*math.Max(0, t+began)) }
	h := m.hold()
	h.Locked = h.Start - 40
	return h
}

// From a leak that stays in sight of the window to one that empties the circuit
// within five seconds.
func TestGrossestLeakersFailAtAnyScanRate(t *testing.T) {
	t.Parallel()
	for _, hz := range scanRates {
		for _, rate := range []float64{0.3, 0.5, 1, 5, 20} {
			t.Run(fmt.Sprintf("%g Hz, %g bar/s", hz, rate), func(t *testing.T) {
				a := Assess(collapsing(hz, rate*bar, 40))
				require.Equal(t, verdict.Fail, a.Verdict, a.Reasons)
				assert.False(t, a.Valid)
				assert.Equal(t, ReasonLostBefore, a.Reasons[0])
				assert.Regexp(t, `^(99\.9|100\.0)\d bar at lock, `, a.Reasons[1])
			})
		}
	}
}

// Locked need not fall on a reading; the fall is seen from the first reading
// after it.
func TestGrossLeakerLockedBetweenReadings(t *testing.T) {
	t.Parallel()
	for _, hz := range scanRates[1:] {
		for _, rate := range []float64{0.5, 5, 20} {
			for _, share := range []float64{0.1, 0.5, 0.9} {
				late := share / hz
				h := collapsing(hz, rate*bar, 40-late)
				h.Locked += late
				a := Assess(h)
				assert.Equal(t, verdict.Fail, a.Verdict, "%g Hz, %g bar/s, %g: %v", hz, rate, share, a.Reasons)
			}
		}
	}
}

// The phase lock ends some time after the circuit was locked: a gross leaker
// may be below its window by then.
func TestLeakerOutsideItsWindowBeforeThePhaseLockEnds(t *testing.T) {
	t.Parallel()
	for _, hz := range scanRates[1:] {
		a := Assess(collapsing(hz, 20*bar, 43))
		assert.Equal(t, verdict.Fail, a.Verdict, "%g Hz: %v", hz, a.Reasons)
	}
}

// What fell before the lock did not fall out of a locked circuit.
func TestFallBeforeLockIsNoLoss(t *testing.T) {
	t.Parallel()
	for _, hz := range scanRates {
		m := good()
		m.interval, m.tempInterval = 1/hz, 1
		m.add = func(t float64) float64 { return -math.Min(12*bar, 8*bar*math.Max(0, t+42)) }
		h := m.hold()
		h.Locked = h.Start - 40
		a := Assess(h)
		assert.Equal(t, verdict.Inconclusive, a.Verdict, "%g Hz: %v", hz, a.Reasons)
		assert.NotContains(t, a.Reasons, ReasonLostBefore)
	}
}

// One spike is no pressure at which the circuit was locked.
func TestSpikeIsNoPressureAtLock(t *testing.T) {
	t.Parallel()
	for _, hz := range scanRates {
		m := good()
		m.interval, m.tempInterval, m.start = 1/hz, 1, 60*bar
		h := m.hold()
		h.Locked = h.Start - 40
		h.Trapped.Value[int((h.Start-20)*hz)] = 98 * bar
		a := Assess(h)
		assert.Equal(t, verdict.Inconclusive, a.Verdict, "%g Hz: %v", hz, a.Reasons)
	}
}

// It is the fall that must be more than temperature explains, not the distance
// from the window.
func TestFallFromLockIsHeldAgainstWhatTemperatureExplains(t *testing.T) {
	t.Parallel()
	for _, hz := range scanRates {
		lost := func(bars float64) Hold {
			m := leaker(bars * bar)
			m.interval, m.tempInterval, m.ramp = 1/hz, 1, 0
			return m.hold()
		}
		a := Assess(lost(12))
		require.Equal(t, verdict.Fail, a.Verdict, "%g Hz: %v", hz, a.Reasons)
		assert.Equal(t, ReasonLostBefore, a.Reasons[0])

		assert.Equal(t, verdict.Inconclusive, Assess(lost(7)).Verdict, "%g Hz: a liquid pumped up cools by so much", hz)
	}
}

// Settling explains what is stated of it and no more.
func TestCharacterisedSettlingExplainsAFall(t *testing.T) {
	h := leaker(12 * bar).hold()
	h.Characterised.Settling = &decay.Settling{
		Amplitude: *normal(5*bar, 0.5*bar, si.PressureChange), TimeConstant: *normal(15, 1, si.Time),
	}
	assert.Equal(t, verdict.Inconclusive, Assess(h).Verdict)
	h = leaker(30 * bar).hold()
	h.Characterised.Settling = &decay.Settling{
		Amplitude: *normal(5*bar, 0.5*bar, si.PressureChange), TimeConstant: *normal(15, 1, si.Time),
	}
	a := Assess(h)
	require.Equal(t, verdict.Fail, a.Verdict)
	assert.Contains(t, a.Reasons[1], "temperature and settling explain at most")
}
