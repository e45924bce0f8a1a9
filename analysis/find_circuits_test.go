package analysis

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// twoCircuits makes a record of two circuits; b is locked later than a.
func twoCircuits(seed uint64, later float64, unitB func(m *madeRecord)) []CircuitPressure {
	a, b := newRecord(seed, 0.1), newRecord(seed+100, 0.1)
	a.idle(5)
	a.ramp(100, 10)
	b.idle(5 + later)
	b.ramp(100, 10)
	unitB(b)
	a.idle(later + 300)
	b.idle(300)
	for _, m := range []*madeRecord{a, b} {
		m.release(0, 4)
		m.idle(10)
	}
	return []CircuitPressure{{Name: "a", Trapped: a.trapped}, {Name: "b", Trapped: b.trapped}}
}

func TestCircuitsHeldAtOnceGetOneWindow(t *testing.T) {
	found, reasons := FindHolds(twoCircuits(1, 30, func(m *madeRecord) { m.leakRate = 0.01 }), FindOptions{})
	require.Equal(t, []string{"", ""}, reasons)
	assert.Equal(t, found[0].Start, found[1].Start)
	assert.Equal(t, found[0].End, found[1].End)
	assert.GreaterOrEqual(t, found[0].Start, 45.0, "not before the later one was locked")
	assert.InDelta(t, 15, found[0].Locked, 0.5, "each has its own instant of locking")
	assert.InDelta(t, 45, found[1].Locked, 0.5)
	assert.Contains(t, found[0].How, "window common to the circuits from")
}

func TestCircuitsHeldOneAfterTheOtherKeepTheirOwn(t *testing.T) {
	found, reasons := FindHolds(twoCircuits(2, 400, func(*madeRecord) {}), FindOptions{})
	require.Equal(t, []string{"", ""}, reasons)
	assert.Less(t, found[0].Start, 250.0)
	assert.Greater(t, found[1].Start, 415.0)
	for _, f := range found {
		assert.Contains(t, f.Notes, "the circuits were not held at once: each has its own window")
	}
}

func TestGrossLeakOfOneCircuitKeepsBothWindows(t *testing.T) {
	for seed := range uint64(5) {
		found, reasons := FindHolds(twoCircuits(seed+1, 0, func(m *madeRecord) { m.leakTime, m.feed = 20, 0 }), FindOptions{})
		require.Equal(t, []string{"", ""}, reasons)
		assert.Greater(t, found[0].End, 310.0, "the good circuit's hold is not cut by the other's leak")
		assert.Less(t, found[1].Start, 17.0, "the leak is not cut off")
		assert.Less(t, found[1].End, 90.0)
	}
}

func TestCircuitWithoutPressureHasNoHold(t *testing.T) {
	circuits := twoCircuits(3, 0, func(*madeRecord) {})
	idle := newRecord(4, 0.1)
	idle.p = 0.8 // an offset that stands clear of the noise
	idle.idle(330)
	circuits[1].Trapped = idle.trapped
	found, reasons := FindHolds(circuits, FindOptions{})
	assert.Empty(t, reasons[0])
	assert.Equal(t, HoldFound, found[0].Method)
	assert.Empty(t, found[0].Notes)
	assert.Regexp(t, `0\.8\d+ bar at most, while another circuit had (99\.9\d|100\.\d) bar: never under pressure`, reasons[1])
}

func TestStatedHoldCountsForAllCircuits(t *testing.T) {
	found, reasons := FindHolds(twoCircuits(5, 30, func(*madeRecord) {}), FindOptions{Given: true, From: 20, To: 120})
	require.Equal(t, []string{"", ""}, reasons)
	for _, f := range found {
		assert.Equal(t, HoldGiven, f.Method)
		assert.Equal(t, 20.0, f.Start)
		assert.Equal(t, 120.0, f.End)
	}
}

func TestOneCircuitAloneIsAsFindHold(t *testing.T) {
	m := plain(7, 100)
	one, reason := FindHold(m.trapped, m.fed, FindOptions{})
	require.Empty(t, reason)
	found, reasons := FindHolds([]CircuitPressure{{Name: "a", Trapped: m.trapped, Feed: m.fed}}, FindOptions{})
	assert.Equal(t, []string{""}, reasons)
	assert.Equal(t, []Found{one}, found)
	none, _ := FindHolds(nil, FindOptions{})
	assert.Empty(t, none)
}
