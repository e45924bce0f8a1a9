package simbench

import (
	"io/fs"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/modbus"
)

// switchboard is the crane's bench with a pump, a lock and a vent as coils 0 to
// 2, a warning switch and the pump's contactor as discrete inputs 0 and 1, and
// a watchdog of a second.
func switchboard(t *testing.T) (*Rig, *module, *LockStep) {
	text, err := fs.ReadFile(CraneFiles(), craneBench)
	require.NoError(t, err)
	b, err := bench.Parse("bench.toml", text)
	require.NoError(t, err)
	b.DrivesOutputs = true
	b.Instruments[0].Watchdog = time.Second
	b.Outputs = []bench.Output{
		{Name: "pump", Role: "pump", Instrument: "module", Function: 5, Register: 0},
		{Name: "lock", Role: "lock", Instrument: "module", Function: 5, Register: 1},
		{Name: "vent", Role: "vent", Instrument: "module", Function: 5, Register: 2},
	}
	b.Channels = append(b.Channels,
		bench.Channel{Name: "low", State: true, RawUnit: "1", Instrument: "module", Function: 2, Register: 0},
		bench.Channel{Name: "runs", State: true, RawUnit: "1", Instrument: "module", Function: 2, Register: 1, Inverted: true})
	b.Positions[0].Circuits[0].WarningSwitch = "low"
	b.Positions[0].PumpState = "runs"
	clock := NewLockStep(CraneStart)
	r, err := New(b, clock, 1)
	require.NoError(t, err)
	return r, newModule(r, b.Instruments[0]), clock
}

// wait lets the clock go on, with somebody talking to the module meanwhile.
func wait(t *testing.T, clock *LockStep, m *module, span time.Duration) {
	for end := clock.Now() + span; clock.Now() < end; {
		require.NoError(t, clock.Sleep(t.Context(), min(end, clock.Now()+100*time.Millisecond)))
		read(t, m)
	}
}

// read are the warning switch and the pump's contactor, as sent.
func read(t *testing.T, m *module) (low, runs uint16) {
	v, err := m.asked(modbus.Request{Address: 1, Function: modbus.ReadDiscrete, Count: 2}, nil)
	require.NoError(t, err)
	return v[0], v[1]
}

func coil(t *testing.T, m *module, number, value uint16) {
	_, err := m.asked(modbus.Write(1, modbus.WriteCoil, number, value), nil)
	require.NoError(t, err)
}

func TestOutputsWorkTheBench(t *testing.T) {
	r, m, clock := switchboard(t)
	low, runs := read(t, m)
	assert.Equal(t, []uint16{1, 1}, []uint16{low, runs}, "no pressure: the warning is on; the pump is off, which is sent as 1")
	coil(t, m, 0, 1)
	wait(t, clock, m, 8*time.Second)
	low, runs = read(t, m)
	assert.Equal(t, []uint16{0, 0}, []uint16{low, runs})
	assert.InDelta(t, 100e5, r.States()[0].Trapped, 2e5, "pumped up in the usual time")
	coil(t, m, 0, 0)
	coil(t, m, 1, 1)
	coil(t, m, 2, 1)
	wait(t, clock, m, 5*time.Second)
	state := r.States()[0]
	assert.True(t, state.Locked)
	assert.Less(t, state.Feed, 1e5)
	assert.Greater(t, state.Trapped, 90e5)
	assert.Equal(t, []bool{false, true, true}, r.Switched())
	coil(t, m, 1, 0)
	wait(t, clock, m, 3*time.Second)
	assert.Less(t, r.States()[0].Trapped, 1e5, "unlocked, with the vent open")
	low, _ = read(t, m)
	assert.EqualValues(t, 1, low)
}

func TestContactsChatter(t *testing.T) {
	_, m, clock := switchboard(t)
	coil(t, m, 0, 1)
	changes, before := 0, uint16(1)
	for range 30 {
		require.NoError(t, clock.Sleep(t.Context(), clock.Now()+time.Millisecond))
		if _, runs := read(t, m); runs != before {
			before = runs
			changes++
		}
	}
	assert.Greater(t, changes, 1)
	assert.Equal(t, 1, changes%2, "at rest in the new state")
}

func TestWatchdogOfAModuleSwitchesOff(t *testing.T) {
	r, m, clock := switchboard(t)
	coil(t, m, 0, 1)
	coil(t, m, 1, 1)
	wait(t, clock, m, 3*time.Second)
	assert.Equal(t, []bool{true, true, false}, r.Switched(), "while somebody talks to it")
	reached := r.States()[0].Trapped
	require.NoError(t, clock.Sleep(t.Context(), clock.Now()+900*time.Millisecond))
	assert.Equal(t, []bool{true, true, false}, r.Switched())
	require.NoError(t, clock.Sleep(t.Context(), clock.Now()+10*time.Second))
	assert.Equal(t, []bool{false, true, false}, r.Switched(), "the pump, and nothing opened")
	assert.Less(t, r.States()[0].Trapped, reached+20e5, "the pump stood still after a second")
}
