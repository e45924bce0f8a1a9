package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
)

func TestCheckNamesARangeThatNoSignalCarries(t *testing.T) {
	b := &bench.Bench{Channels: []bench.Channel{{Name: "trapped", RangeHigh: 400e5,
		Scaling: &bench.Scaling{SignalHigh: 10, ValueHigh: 250e5}}}}
	found := besides(b, time.Now())
	require.Len(t, found, 1)
	assert.Contains(t, found[0].Look, "channel trapped: how far its module carries the signal: raw_range")
	b.Channels[0].RangeHigh = 250e5
	assert.Empty(t, besides(b, time.Now()))
}
