package sensor_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/daq"
	"holdbench/daq/sensor"
)

func see(w *sensor.Watch, tenths int, value float64) daq.Health {
	return w.See(time.Duration(tenths)*100*time.Millisecond, daq.Reading{Raw: value, Value: value})
}

func TestStuckAfterAWhileWithoutAnyChange(t *testing.T) {
	w := &sensor.Watch{StuckAfter: time.Second}
	for k := range 10 {
		assert.Equal(t, daq.Healthy, see(w, k, 7), k)
	}
	assert.Equal(t, daq.Stuck, see(w, 10, 7))
	assert.Equal(t, daq.Missing, w.See(1100*time.Millisecond, daq.Reading{Raw: math.NaN(), Value: math.NaN(), Health: daq.Missing}))
	assert.Equal(t, daq.Stuck, see(w, 12, 7), "a gap is no movement")
	assert.Equal(t, daq.Healthy, see(w, 13, 7.001))
	assert.Equal(t, daq.Healthy, see(w, 22, 7.001))
	assert.Equal(t, daq.Stuck, see(w, 23, 7.001))
	idle := &sensor.Watch{}
	for k := range 1000 {
		assert.Equal(t, daq.Healthy, see(idle, k, 7))
	}
}

func TestASpikeIsTooFastAndAStepIsBelievedThirdTime(t *testing.T) {
	w := &sensor.Watch{Fastest: 100} // 10 in a tenth of a second
	var got []daq.Health
	for k, v := range []float64{100, 105, 300, 104, 103, 50, 51, 52, 53, 50} {
		got = append(got, see(w, k, v))
	}
	assert.Equal(t, []daq.Health{
		daq.Healthy, daq.Healthy, daq.TooFast, daq.Healthy, daq.Healthy, // a spike
		daq.TooFast, daq.TooFast, daq.Healthy, daq.Healthy, daq.Healthy, // a step
	}, got)
}

func TestFlickerIsNeverBelieved(t *testing.T) {
	w := &sensor.Watch{Fastest: 10}
	see(w, 0, 100)
	for k := 1; k < 40; k++ {
		assert.Equal(t, daq.TooFast, see(w, k, 200+100*float64(k%2)), k)
	}
}

func TestTimeMakesAChangePossible(t *testing.T) {
	w := &sensor.Watch{Fastest: 10}
	see(w, 0, 100)
	assert.Equal(t, daq.TooFast, see(w, 1, 110))
	assert.Equal(t, daq.Missing, w.See(time.Second, daq.Reading{Health: daq.Missing, Raw: math.NaN(), Value: math.NaN()}))
	assert.Equal(t, daq.Healthy, see(w, 15, 111), "15 in 1.5 s")
	assert.Equal(t, daq.Healthy, see(w, 15, 150), "one instant says nothing of how fast")
}

func TestReadingsHandedOnTogetherAreNotTooFast(t *testing.T) {
	w := &sensor.Watch{Fastest: 100, Least: 50 * time.Millisecond}
	w.See(0, daq.Reading{Raw: 100, Value: 100})
	assert.Equal(t, daq.Healthy, w.See(time.Millisecond, daq.Reading{Raw: 104, Value: 104}))
	assert.Equal(t, daq.TooFast, w.See(2*time.Millisecond, daq.Reading{Raw: 110, Value: 110}))
}
