package daq_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
)

func TestCountedNamesWhatHappened(t *testing.T) {
	assert.Equal(t, "10 requests, 2 silent, 1 late", daq.Counted("10 requests",
		daq.Count{N: 2, What: "silent"}, daq.Count{What: "garbled"}, daq.Count{N: 1, What: "late"}))
	assert.Equal(t, "10 requests", daq.Counted("10 requests"))
}

func TestTimingSaysWhatTheInstrumentCounted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		src := source("one", 0, 100*time.Millisecond, takes(0))
		src.Counted = func() string { return "3 lines, 1 garbled" }
		timing, _ := timed(t, time.Second, daq.Line{Sources: []daq.Source{src}})
		require.Len(t, timing, 1)
		assert.Contains(t, timing[0].String(), " missed; 3 lines, 1 garbled")
	})
}
