package simbench

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
)

// A gauge beside the bench's own transducers sees what they see, so that a
// channel can be compared with it; a digital input has no sensor to break.
func TestAChannelOfNoCircuitSeesTheTrappedSide(t *testing.T) {
	b := everyKindBench(t)
	b.Channels = append(b.Channels,
		bench.Channel{Name: "standard", Quantity: si.Pressure, Instrument: b.Channels[0].Instrument, Function: 4, Register: 90, Type: "float32", RawUnit: "bar", RawScale: 1},
		bench.Channel{Name: "warning", State: true, Instrument: b.Channels[0].Instrument, Function: 2, Type: "bit", RawUnit: "1"})
	clock := &hands{}
	r, err := New(b, clock, 1)
	require.NoError(t, err)
	r.Pump(80e5, time.Second)
	clock.at += 10 * time.Second
	got := r.read([]int{len(b.Channels) - 2})
	assert.InDelta(t, 80, got[0], 0.1)

	assert.Equal(t, "standard: its wire is broken", do(t, r, "break standard wire"))
	assert.Equal(t, "standard: its sensor is shorted", do(t, r, "break standard short"))
	assert.Equal(t, "standard: its reading stands still", do(t, r, "break standard stuck"))
	assert.Equal(t, "standard: whole again", do(t, r, "mend standard"))
	_, err = r.Command("break warning wire")
	assert.EqualError(t, err, `break: found "warning", a digital input: only a measuring channel's sensor can be broken here`)
}
