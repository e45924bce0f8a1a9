package sensor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/sensor"
)

func unitOf(t *testing.T, text string, q si.Quantity) si.Unit {
	u, err := si.ParseUnit(text, q)
	require.NoError(t, err)
	return u
}

// loop is a transmitter of 0 to 250 bar in a loop of 4–20 mA.
func loop(t *testing.T) sensor.Config {
	return sensor.Config{
		Quantity: si.Pressure, Scale: 1, Unit: unitOf(t, "mA", si.Current),
		Conversion: sensor.Scaling{SignalLow: 4e-3, SignalHigh: 20e-3, ValueLow: 0, ValueHigh: 250e5},
		Low:        0, High: 250e5,
	}
}

// shunted is the same loop as the voltage over 250 Ω.
func shunted(t *testing.T) sensor.Config {
	c := loop(t)
	c.Unit = unitOf(t, "V", si.Voltage)
	c.Conversion = sensor.Scaling{SignalLow: 1, SignalHigh: 5, ValueLow: 0, ValueHigh: 250e5}
	return c
}

// C: exact arithmetic; bands after NAMUR NE 43 (M: as several public texts say
// it alike). Under range and over range in the bands of failure are what the
// transmitter itself says; 0 mA is what none says.
func TestCurrentsOfALoop(t *testing.T) {
	healths := map[string]daq.Health{
		"failure_low": daq.UnderRange, "transition_low": daq.UnderRange, "under_range": daq.Healthy, "measuring": daq.Healthy,
		"over_range": daq.Healthy, "transition_high": daq.OverRange, "failure_high": daq.OverRange,
	}
	for _, row := range rows(t, "signals/current-loop-scaling.csv") {
		want, known := healths[row["band"]]
		require.True(t, known, row)
		if row["current_mA"] == "0" {
			want = daq.BrokenWire
		}
		for _, c := range []struct {
			config sensor.Config
			raw    string
		}{{loop(t), row["current_mA"]}, {shunted(t), row["volts_over_250_ohm"]}} {
			r := c.config.Reading(daq.Signal{Raw: number(t, c.raw)}, sensor.Alone())
			assert.Equal(t, want, r.Health, row)
			if want == daq.Healthy {
				assert.InDelta(t, number(t, row["example_bar_0_250"])*1e5, r.Value, 1e-6, row)
			} else {
				assert.True(t, math.IsNaN(r.Value))
			}
		}
	}
}

func TestLimitsOfALoopItself(t *testing.T) {
	limits := map[string]float64{}
	for _, row := range rows(t, "signals/ne43-limits.csv") {
		limits[row["name"]] = number(t, row["value_mA"])
	}
	for _, e := range []struct {
		raw  float64
		want daq.Health
	}{
		{0.02, daq.BrokenWire}, {1.9, daq.BrokenWire}, {2.1, daq.UnderRange},
		{limits["failure_low"], daq.UnderRange}, {limits["range_low"] - 0.001, daq.UnderRange}, {limits["range_low"], daq.Healthy},
		{limits["live_zero"], daq.Healthy}, {limits["full_scale"], daq.Healthy}, {limits["range_high"], daq.Healthy},
		{limits["range_high"] + 0.001, daq.OverRange}, {limits["failure_high"], daq.OverRange}, {22.9, daq.OverRange},
		{24, daq.ShortCircuit}, {96, daq.ShortCircuit}, {math.NaN(), daq.Invalid},
	} {
		c := loop(t)
		assert.Equal(t, e.want, c.Reading(daq.Signal{Raw: e.raw}, sensor.Alone()).Health, "%g mA", e.raw)
		c.Low, c.High = math.NaN(), math.NaN() // the bands stand without a range beside them
		assert.Equal(t, e.want, c.Reading(daq.Signal{Raw: e.raw}, sensor.Alone()).Health, "%g mA, no range", e.raw)
	}
}

// What has its zero at zero has no live zero: nothing is nothing.
func TestADeadZeroIsNoBrokenWire(t *testing.T) {
	dead := loop(t)
	dead.Conversion = sensor.Scaling{SignalLow: 0, SignalHigh: 20e-3, ValueLow: 0, ValueHigh: 250e5}
	assert.Equal(t, daq.Healthy, dead.Reading(daq.Signal{Raw: 0}, sensor.Alone()).Health)
	volts := shunted(t)
	volts.Conversion = sensor.Scaling{SignalLow: 0.5, SignalHigh: 4.5, ValueLow: 0, ValueHigh: 250e5}
	assert.Equal(t, daq.Healthy, volts.Reading(daq.Signal{Raw: 0.48}, sensor.Alone()).Health)
	assert.Equal(t, daq.UnderRange, volts.Reading(daq.Signal{Raw: 0}, sensor.Alone()).Health)
}
