package sensor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
)

var ambient = Beside{Ambient: 101325, ColdJunction: math.NaN(), Excitation: math.NaN()}

func unit(t *testing.T, text string, q si.Quantity) si.Unit {
	u, err := si.ParseUnit(text, q)
	require.NoError(t, err)
	return u
}

// loop is a 4–20 mA transmitter of 0–250 bar, read in µA.
func loop(t *testing.T) Config {
	return Config{
		Quantity: si.Pressure, Scale: 0.001, Unit: unit(t, "mA", si.Current),
		Conversion: Scaling{SignalLow: 4e-3, SignalHigh: 20e-3, ValueLow: 0, ValueHigh: 250e5},
		Low:        0, High: 250e5,
	}
}

func TestTwoPointsOfALoop(t *testing.T) {
	c := loop(t)
	for raw, want := range map[float64]float64{4000: 0, 20000: 250e5, 12000: 125e5, 3900: -1.5625e5, 20400: 256.25e5} {
		r := c.Reading(daq.Signal{Raw: raw}, ambient)
		assert.Equal(t, daq.Healthy, r.Health, raw)
		assert.InDelta(t, want, r.Value, 1e-6, raw)
		assert.InDelta(t, raw/1000, r.Raw, 1e-12, "raw in mA")
	}
	assert.True(t, c.Converted())
}

// M: NAMUR NE 43: 3.8 to 20.5 mA measures, up to 3.6 and from 21 mA is
// failure.
func TestLoopOutsideItsRange(t *testing.T) {
	c := loop(t)
	open := c
	open.Low, open.High = math.NaN(), math.NaN() // the range is not stated
	for raw, want := range map[float64]daq.Health{
		0: daq.BrokenWire, 3600: daq.UnderRange, 3799: daq.UnderRange, 3800: daq.Healthy, 3801: daq.Healthy,
		20500: daq.Healthy, 20501: daq.OverRange, 21000: daq.OverRange, 25000: daq.ShortCircuit, math.NaN(): daq.Invalid,
	} {
		r := c.Reading(daq.Signal{Raw: raw}, ambient)
		assert.Equal(t, want, r.Health, raw)
		assert.Equal(t, want != daq.Healthy, math.IsNaN(r.Value), raw)
	}
	assert.Equal(t, daq.BrokenWire, open.Reading(daq.Signal{Raw: 0}, ambient).Health, "a broken wire")
	assert.Equal(t, daq.OverRange, open.Reading(daq.Signal{Raw: 21000}, ambient).Health)
}

func TestUnhealthySignalsStaySo(t *testing.T) {
	c := loop(t)
	for _, h := range []daq.Health{daq.Missing, daq.UnderRange, daq.OverRange, daq.Invalid} {
		r := c.Reading(daq.Signal{Raw: 12000, Health: h}, ambient)
		assert.Equal(t, h, r.Health)
		assert.True(t, math.IsNaN(r.Value))
		assert.Equal(t, h == daq.Missing, math.IsNaN(r.Raw))
	}
}

func TestAbsoluteBecomesGaugeAfterCalibration(t *testing.T) {
	c := Config{Quantity: si.Pressure, Scale: 1, Unit: unit(t, "bar", si.Pressure), Gauge: true,
		Points: []Point{{Reference: 0, Indicated: 0.1e5}, {Reference: 100e5, Indicated: 100.3e5}},
		Low:    0, High: 250e5}
	assert.True(t, c.Converted())
	for raw, want := range map[float64]float64{0.1: 0, 100.3: 100e5, 50.2: 50e5} {
		r := c.Reading(daq.Signal{Raw: raw}, ambient)
		assert.InDelta(t, want-ambient.Ambient, r.Value, 1e-6)
	}
	assert.Equal(t, daq.Healthy, c.Reading(daq.Signal{Raw: 0.1}, ambient).Health, "a vacuum is in range")
}

func TestWhatAQuantityCannotBe(t *testing.T) {
	nan := math.NaN()
	gauge := Config{Quantity: si.Pressure, Scale: 1, Unit: unit(t, "bar", si.Pressure), Low: nan, High: nan}
	assert.False(t, gauge.Converted(), "another unit is no conversion")
	assert.Equal(t, daq.Healthy, gauge.Reading(daq.Signal{Raw: -1}, ambient).Health)
	assert.Equal(t, daq.Invalid, gauge.Reading(daq.Signal{Raw: -2}, ambient).Health)
	celsius := Config{Quantity: si.Temperature, Scale: 1, Unit: unit(t, "°C", si.Temperature), Low: nan, High: nan}
	assert.InDelta(t, 294.65, celsius.Reading(daq.Signal{Raw: 21.5}, ambient).Value, 1e-9)
	assert.Equal(t, daq.Invalid, celsius.Reading(daq.Signal{Raw: -274}, ambient).Health)
	assert.Equal(t, daq.Invalid, celsius.Reading(daq.Signal{Raw: math.Inf(1)}, ambient).Health)
}

func TestRangeWithOneEnd(t *testing.T) {
	c := Config{Quantity: si.Temperature, Scale: 1, Unit: unit(t, "K", si.Temperature), Low: math.NaN(), High: 400}
	assert.Equal(t, daq.OverRange, c.Reading(daq.Signal{Raw: 401}, ambient).Health)
	assert.Equal(t, daq.Healthy, c.Reading(daq.Signal{Raw: 5}, ambient).Health)
}

func TestCorrect(t *testing.T) {
	points := []Point{{Reference: 0, Indicated: 2}, {Reference: 100, Indicated: 104}, {Reference: 200, Indicated: 202}}
	for x, want := range map[float64]float64{2: 0, 104: 100, 202: 200, 53: 50, 0: -2, 300: 298, 153: 150} {
		assert.InDelta(t, want, Correct(points, x), 1e-12, x)
	}
	assert.Equal(t, 7.0, Correct(nil, 7))
	assert.Equal(t, 6.0, Correct([]Point{{Reference: 1, Indicated: 2}}, 7))
	assert.True(t, math.IsNaN(Correct(points, math.NaN())))
}
