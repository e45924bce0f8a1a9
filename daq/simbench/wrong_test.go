package simbench

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/bench"
)

func TestAWrongTransducerHasALoop(t *testing.T) {
	b := &bench.Bench{Channels: []bench.Channel{{Name: "feed"}, {Name: "trapped"}},
		Simulated: &bench.Simulated{Transducers: []bench.SimulatedTransducer{{Channel: "trapped", Offset: 10, Gain: 0.01, Hysteresis: 4}}}}
	all := wrongTransducers(b)
	assert.Equal(t, 50.0, all[0].shows(50), "what is not named is right")
	w := &all[1]
	for _, c := range []struct{ x, want float64 }{{0, 10}, {100, 100 + 10 + 1 - 2}, {200, 200 + 10 + 2 - 2}, {100, 100 + 10 + 1 + 2}, {99, 99 + 10 + 0.99 + 2}, {100, 100 + 10 + 1 + 1}} {
		assert.InDelta(t, c.want, w.shows(c.x), 1e-9, c.x)
	}
}
