package sensor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/sensor"
)

// A module that carries no more than 10 V shows 10 V whatever the pressure:
// that is no healthy 250 bar, however far the transducer's range goes.
func TestSignalAtTheEndOfWhatIsCarriedIsOverRange(t *testing.T) {
	up := sensor.Scaling{SignalLow: 0, SignalHigh: 10, ValueLow: 0, ValueHigh: 250e5, CarriedLow: 0, CarriedHigh: 10}
	down := sensor.Scaling{SignalLow: 10, SignalHigh: 0, ValueLow: 0, ValueHigh: 250e5, CarriedLow: 0, CarriedHigh: 10}
	wide := sensor.Scaling{SignalLow: 0, SignalHigh: 5, ValueLow: 0, ValueHigh: 250e5, CarriedLow: -10, CarriedHigh: 10}
	for name, c := range map[string]struct {
		line   sensor.Scaling
		signal float64
		want   daq.Health
	}{
		"within":                       {up, 9.99, daq.Healthy},
		"at the upper end":             {up, 10, daq.OverRange},
		"but for rounding":             {up, 10 - 1e-10, daq.OverRange},
		"beyond":                       {up, 12, daq.OverRange},
		"vented":                       {up, 0, daq.Healthy},
		"vented, a little below":       {up, -0.1, daq.Healthy},
		"far below":                    {up, -0.2, daq.UnderRange},
		"falling, at the lower end":    {down, 0, daq.OverRange},
		"falling, vented":              {down, 10.1, daq.Healthy},
		"falling, far above":           {down, 10.2, daq.UnderRange},
		"beyond the points, carried":   {wide, 7, daq.Healthy},
		"beyond the points, saturated": {wide, 10, daq.OverRange},
		"nothing stated":               {sensor.Scaling{SignalHigh: 10, ValueHigh: 250e5}, 10, daq.Healthy},
		"no number":                    {up, math.NaN(), daq.Invalid},
	} {
		config := sensor.Config{Quantity: si.Pressure, Scale: 1, Unit: si.Voltage.SI(), Conversion: c.line, Low: math.NaN(), High: 400e5}
		assert.Equal(t, c.want, config.Reading(daq.Signal{Raw: c.signal}, sensor.Alone()).Health, name)
	}
	assert.Equal(t, 250e5, up.Highest())
	assert.Equal(t, 250e5, down.Highest())
	assert.Equal(t, 500e5, wide.Highest())
	assert.Equal(t, 250e5, sensor.Scaling{SignalHigh: 10, ValueHigh: 250e5}.Highest())
}
