package simbench

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
)

const askedBench = `
name = "asked"
[[link]]
name = "line"
port = "COM3"
baud = 9600
[[instrument]]
name = "indicator"
kind = "text-asked"
link = "line"
interval = "100 ms"
query = "MEAS?"
setup = ["*CLS"]
[[channel]]
name = "p"
quantity = "pressure"
instrument = "indicator"
raw_unit = "bar"
reference = "gauge"
range = ["0 bar", "250 bar"]
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "p"
feed = "unmeasured"
`

// Asked in lock-step, the same seed gives the same readings at the same times.
func TestAskedInLockStepIsTheSameEachTime(t *testing.T) {
	b, err := bench.Parse("bench.toml", []byte(askedBench))
	require.NoError(t, err)
	visits := [2]string{}
	for i := range visits {
		s := watch(t, b, 7, ServeOptions{TCP: true}, 20*time.Second, nil)
		at, values := s.column(t, "p")
		require.Greater(t, len(at), 195)
		visits[i] = fmt.Sprint(at, values)
		require.Len(t, s.gaps, 1)
		assert.Equal(t, daq.Note, s.gaps[0].Kind)
		assert.Equal(t, "holdbench,simulated indicator,1,0", s.gaps[0].Text)
	}
	assert.Equal(t, visits[0], visits[1])
}
