package sensor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/sensor"
)

// each is a conversion of every kind, with its values to walk over.
func each(t *testing.T) map[string][]sensor.Conversion {
	out := map[string][]sensor.Conversion{
		"scaling": {
			sensor.Scaling{SignalLow: 4e-3, SignalHigh: 20e-3, ValueLow: -1e5, ValueHigh: 250e5},
			sensor.Scaling{SignalLow: 2e-3, SignalHigh: 0, ValueLow: 0, ValueHigh: 400e5},
		},
		"polynomial": {
			sensor.Polynomial{Coefficients: []float64{-62.5, 15.6, 0.002, 1e-5}, SignalUnit: unitOf(t, "mA", si.Current),
				ValueUnit: unitOf(t, "bar", si.Pressure), Low: 4e-3, High: 20e-3},
			sensor.Polynomial{Coefficients: []float64{100, -9, 0.1}, SignalUnit: unitOf(t, "V", si.Voltage),
				ValueUnit: unitOf(t, "°C", si.Temperature), Low: 0, High: 10},
		},
		"table": {
			sensor.Table{{0, 250}, {1, 270}, {3, 280}, {10, 400}},
			sensor.Table{{-1, 10}, {0, 5}, {1, 4.99}, {1.5, -20}},
		},
	}
	for _, k := range sensor.Kinds {
		for _, name := range k.Names {
			c, ok := k.Named(name)
			require.True(t, ok, name)
			out[k.Key] = append(out[k.Key], c)
		}
	}
	return out
}

// law: over all the signals of every kind, there and back is where one came
// from, and what rises rises all the way.
func TestConversionsUndoAndAreMonotone(t *testing.T) {
	all := each(t)
	for _, k := range sensor.Kinds {
		require.NotEmpty(t, all[k.Key], k.Key)
		for _, c := range all[k.Key] {
			of, ok := sensor.KindOf(c)
			require.True(t, ok)
			require.Equal(t, k.Key, of.Key)
			low, high := c.Signals()
			beside := sensor.Alone()
			beside.ColdJunction = 273.15 // the range's ends are against it
			ends := func(signal float64) float64 {
				v, h := c.Value(signal, beside)
				require.Equal(t, daq.Healthy, h, k.Key)
				return v
			}
			rises := ends(high-1e-9*(high-low)) > ends(low+1e-9*(high-low))
			rapid.Check(t, func(r *rapid.T) {
				a := rapid.Float64Range(low, high).Draw(r, "signal")
				b := rapid.Float64Range(low, high).Draw(r, "another")
				v, h := c.Value(a, beside)
				if h != daq.Healthy {
					return // the very end, rounded
				}
				require.InDelta(r, a, c.Signal(v, beside), 1e-9*(high-low))
				if w, h := c.Value(b, beside); h == daq.Healthy && math.Abs(b-a) > 1e-8*(high-low) {
					require.Equal(r, rises == (b > a), w > v)
				}
			})
		}
	}
	_, ok := sensor.KindOf(nil)
	assert.False(t, ok)
}

// No signal ever gives a value that is not a number and healthy, nor the other
// way round.
func TestNoHealthyNaN(t *testing.T) {
	for _, conversions := range each(t) {
		for _, c := range conversions {
			low, high := c.Signals()
			for _, cold := range []float64{math.NaN(), 296, 1e6, 0} {
				beside := sensor.Alone()
				beside.ColdJunction = cold
				for _, s := range []float64{math.NaN(), low, high, low - (high - low), high + (high-low)*2, 0} {
					v, h := c.Value(s, beside)
					if _, line := c.(sensor.Scaling); line && math.IsNaN(s) {
						continue // judged by what takes it (Config)
					}
					assert.Equal(t, h != daq.Healthy, math.IsNaN(v), "%T %g", c, s)
				}
			}
		}
	}
}

func TestPolynomialThatTurnsIsNoConversion(t *testing.T) {
	p := sensor.Polynomial{Coefficients: []float64{0, 1, -0.06}, SignalUnit: unitOf(t, "V", si.Voltage),
		ValueUnit: unitOf(t, "bar", si.Pressure), Low: 0, High: 10}
	assert.False(t, p.Monotone())
	p.High = 8
	assert.True(t, p.Monotone())
}

func TestBeyondATable(t *testing.T) {
	rising, falling := sensor.Table{{1, 10}, {2, 20}}, sensor.Table{{1, 20}, {2, 10}}
	for _, e := range []struct {
		table sensor.Table
		x     float64
		want  daq.Health
	}{
		{rising, 0.999, daq.UnderRange}, {rising, 2.001, daq.OverRange}, {rising, 1, daq.Healthy}, {rising, 2, daq.Healthy},
		{falling, 0.999, daq.OverRange}, {falling, 2.001, daq.UnderRange}, {rising, math.NaN(), daq.Invalid},
	} {
		_, h := e.table.Value(e.x, sensor.Alone())
		assert.Equal(t, e.want, h, "%g", e.x)
	}
	assert.True(t, math.IsNaN(rising.Signal(21, sensor.Alone())))
	assert.Zero(t, rising.Bend(math.NaN(), math.NaN()))
	assert.InDelta(t, 0.5, sensor.Table{{0, 0}, {1, 1}, {2, 3}}.Bend(math.NaN(), math.NaN()), 1e-12)
	assert.Zero(t, sensor.Table{{0, 0}, {1, 1}, {2, 2}, {3, 9}}.Bend(0, 0.9), "what bends elsewhere")
}

// A bridge of 2 mV/V fed with 10 V, and with what is measured.
func TestBridgeAgainstItsExcitation(t *testing.T) {
	c := sensor.Config{Quantity: si.Pressure, Scale: 1, Unit: unitOf(t, "mV", si.Voltage), Excited: true,
		Conversion: sensor.Scaling{SignalLow: 0, SignalHigh: 2e-3, ValueLow: 0, ValueHigh: 400e5}, Low: 0, High: 400e5}
	for by, want := range map[float64]daq.Health{10: daq.Healthy, 9.5: daq.Healthy, 0: daq.Invalid, -10: daq.Invalid, math.NaN(): daq.Missing} {
		beside := sensor.Alone()
		beside.Excitation = by
		r := c.Reading(daq.Signal{Raw: 5}, beside)
		assert.Equal(t, want, r.Health, by)
		assert.Equal(t, 5.0, r.Raw, "the raw signal is kept")
		if want == daq.Healthy {
			assert.InDelta(t, 5/by/2*400e5, r.Value, 1e-6)
		}
	}
	c.Conversion, c.Quantity, c.Low, c.High = platinum(t, "Pt100"), si.Temperature, math.NaN(), math.NaN()
	beside := sensor.Alone()
	beside.Excitation = 1e-3
	r := c.Reading(daq.Signal{Raw: 107.7935}, beside)
	assert.InDelta(t, 20, r.Value-zeroCelsius, 1e-6, "1 mA through 107.79 Ω")
	assert.Equal(t, daq.BrokenWire, c.Reading(daq.Signal{Raw: math.NaN(), Health: daq.OverRange}, beside).Health, "overload of what measures a resistance")
}
