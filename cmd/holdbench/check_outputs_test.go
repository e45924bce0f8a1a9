package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
)

func TestCheckSaysWhatAnOutputSwitches(t *testing.T) {
	b, err := bench.Parse("bench.toml", []byte(benchWithOutputs(t, true)))
	require.NoError(t, err)
	var out strings.Builder
	printOutputs(&out, b)
	assert.Contains(t, out.String(), "output pump: switches the pump, on instrument module\n")
	assert.Contains(t, out.String(), "output feed_vent: switches the vent, on instrument module\n")
	for _, r := range daq.Roles {
		assert.NotEmpty(t, roleWords[r], r)
	}
}
