package sensor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/daq"
	"holdbench/daq/sensor"
)

func thermocouple(t require.TestingT, letter string) sensor.Thermocouple {
	c, ok := sensor.NewThermocouple(letter)
	require.True(t, ok, letter)
	return c
}

const letters = "BEJKNRST"

// V: NIST SRD 60 / Monograph 175, every whole degree of every type, to the last
// digit printed.
func TestReferenceFunctionsGiveThePublishedTables(t *testing.T) {
	n := 0
	for _, row := range rows(t, "thermocouple/table-1C.csv") {
		c := thermocouple(t, row["type"])
		got := c.EMF(number(t, row["temp_C"])+zeroCelsius) * 1000
		if off := math.Abs(got - number(t, row["emf_mV"])); off > half(row["emf_mV"]) {
			t.Errorf("%s at %s °C: %.6f mV, published %s", row["type"], row["temp_C"], got, row["emf_mV"])
		}
		n++
	}
	assert.Equal(t, 12026, n)
}

// C: the functions in 40-digit arithmetic (mpmath 1.2.1), and their slopes.
func TestReferenceFunctionsGiveTwelveDigits(t *testing.T) {
	const lost = 3e-11 // mV, in doubles, most at type T's −270 °C
	for _, row := range rows(t, "thermocouple/table.csv") {
		c, at := thermocouple(t, row["type"]), number(t, row["temp_C"])+zeroCelsius
		want := number(t, row["emf_exact_mV"]) // 12 significant digits, trailing zeros left out
		last := math.Pow10(int(math.Floor(math.Log10(max(math.Abs(want), 1e-3)))) - 11)
		assert.InDelta(t, want, c.EMF(at)*1000, 0.5*last+lost, "%s at %s °C", row["type"], row["temp_C"])
		assert.InDelta(t, number(t, row["seebeck_uV_per_C"]), c.Seebeck(at)*1e6, 0.5e-4*(1+1e-6), "%s at %s °C", row["type"], row["temp_C"])
	}
}

// V: the published tables read backwards: the temperature of a voltage printed
// to 1 µV is the printed one within what that rounding is worth.
func TestTemperaturesOfThePublishedTables(t *testing.T) {
	n := 0
	for _, row := range rows(t, "thermocouple/table-1C.csv") {
		c, temp := thermocouple(t, row["type"]), number(t, row["temp_C"])
		low, high := c.Range()
		if row["type"] == "B" && temp < 250 {
			continue // its voltage tells none: TestTypeBTellsNothingBelowItsRange
		}
		emf := number(t, row["emf_mV"]) / 1000
		emf = min(max(emf, c.EMF(low)), c.EMF(high)) // the ends are rounded too
		got := c.Temperature(emf) - zeroCelsius
		// the slope on the way, which near -270 °C is far from constant
		far := max(math.Abs(got-temp)*math.Min(c.Seebeck(got+zeroCelsius), c.Seebeck(temp+zeroCelsius)), 0) * 1000
		if !(far <= half(row["emf_mV"])) {
			t.Errorf("%s at %s mV: %.4f °C, published %s", row["type"], row["emf_mV"], got, row["temp_C"])
		}
		n++
	}
	assert.Equal(t, 12026-250, n)
}

// V: the published approximate inverse functions are off by what is published
// of them when they are held against the inverse here; if that were wrong by
// more than 0.1 mK it would show.
func TestPublishedInversesAreOffByThePublishedError(t *testing.T) {
	type span struct{ letter, low, high string }
	coefficients := map[span][]float64{}
	for _, row := range rows(t, "thermocouple/inverse.csv") {
		s := span{row["type"], row["t_min_C"], row["t_max_C"]}
		coefficients[s] = append(coefficients[s], number(t, row["value"]))
	}
	const steps = 2000
	for _, row := range rows(t, "thermocouple/inverse-error.csv") {
		s := span{row["type"], row["t_min_C"], row["t_max_C"]}
		d, c := coefficients[s], thermocouple(t, row["type"])
		require.NotEmpty(t, d)
		delete(coefficients, s)
		low, high := c.EMF(number(t, s.low)+zeroCelsius), c.EMF(number(t, s.high)+zeroCelsius)
		least, most := math.Inf(1), math.Inf(-1)
		for k := range steps + 1 {
			emf := min(low+(high-low)*float64(k)/steps, high)
			approximate := 0.0
			for i := len(d) - 1; i >= 0; i-- {
				approximate = approximate*emf*1000 + d[i]
			}
			off := approximate - (c.Temperature(emf) - zeroCelsius)
			least, most = min(least, off), max(most, off)
		}
		// at least as far as was measured elsewhere, in coarser steps, and no
		// further than published, to its rounding
		assert.InDelta(t, number(t, row["measured_min_C"]), least, 1e-4, "%v", s)
		assert.InDelta(t, number(t, row["measured_max_C"]), most, 1e-4, "%v", s)
		assert.GreaterOrEqual(t, least, number(t, row["error_min_C"])-half(row["error_min_C"]), "%v", s)
		assert.LessOrEqual(t, most, number(t, row["error_max_C"])+half(row["error_max_C"]), "%v", s)
	}
	assert.Empty(t, coefficients)
}

// C: E(t) − E(cold junction) in 40-digit arithmetic; two rows as printed in a
// public worked example.
func TestColdJunctionsWorked(t *testing.T) {
	for _, row := range rows(t, "thermocouple/cold-junction.csv") {
		c := thermocouple(t, row["type"])
		beside := sensor.Alone()
		beside.ColdJunction = number(t, row["t_reference_C"]) + zeroCelsius
		value, health := c.Value(number(t, row["emf_read_mV"])/1000, beside)
		require.Equal(t, daq.Healthy, health, row)
		assert.InDelta(t, number(t, row["t_measuring_C"]), value-zeroCelsius, 1e-6, row)
		assert.InDelta(t, number(t, row["emf_read_mV"]), c.Signal(number(t, row["t_measuring_C"])+zeroCelsius, beside)*1000, 1e-11, row)
	}
}

// law: inverse and direct function undo each other to 2e-6 K over the whole
// range of every type, at any cold junction, and a higher voltage is a higher
// temperature.
func TestThermocouplesUndoAndRise(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		c := thermocouple(r, string(letters[rapid.IntRange(0, len(letters)-1).Draw(r, "type")]))
		low, high := c.Range()
		at := rapid.Float64Range(low, high).Draw(r, "temperature")
		beside := sensor.Alone()
		beside.ColdJunction = rapid.Float64Range(zeroCelsius, zeroCelsius+70).Draw(r, "cold junction")
		got, health := c.Value(c.Signal(at, beside), beside)
		if at > low+1e-6 && at < high-1e-6 { // rounding may throw an end out
			require.Equal(r, daq.Healthy, health)
		}
		if health == daq.Healthy {
			require.InDelta(r, at, got, 2e-6)
		}
		other := rapid.Float64Range(low, high).Draw(r, "another")
		if math.Abs(other-at) > 2e-6 {
			require.Equal(r, other > at, c.EMF(other) > c.EMF(at))
		}
	})
}

// Every type rises strictly over its range: the slope is above zero at each
// tenth of a degree.
func TestThermocouplesRiseEverywhere(t *testing.T) {
	for _, letter := range letters {
		c := thermocouple(t, string(letter))
		low, high := c.Range()
		for at := low; at <= high; at += 0.1 {
			if !(c.Seebeck(at) > 0) {
				t.Fatalf("type %c at %.1f °C: slope %g", letter, at-zeroCelsius, c.Seebeck(at))
			}
		}
	}
}

func TestTypeBTellsNothingBelowItsRange(t *testing.T) {
	c := thermocouple(t, "B")
	beside := sensor.Alone()
	beside.ColdJunction = 23 + zeroCelsius
	for _, at := range []float64{0, 21, 42, 100, 249} {
		value, health := c.Value(c.Signal(at+zeroCelsius, beside), beside)
		assert.Equal(t, daq.UnderRange, health, "%g °C", at)
		assert.True(t, math.IsNaN(value))
	}
	_, health := c.Value(c.Signal(251+zeroCelsius, beside), beside)
	assert.Equal(t, daq.Healthy, health)
}

func TestOpenThermocouples(t *testing.T) {
	c, beside := thermocouple(t, "K"), sensor.Alone()
	beside.ColdJunction = 23 + zeroCelsius
	for emf, want := range map[float64]daq.Health{
		0: daq.Healthy, 54e-3: daq.BrokenWire, 78.125e-3: daq.BrokenWire, -78.125e-3: daq.BrokenWire,
		-8e-3: daq.UnderRange, -7.3e-3: daq.Healthy, math.NaN(): daq.Invalid,
	} {
		value, health := c.Value(emf, beside)
		assert.Equal(t, want, health, "%g V", emf)
		assert.Equal(t, want != daq.Healthy, math.IsNaN(value))
	}
	_, health := c.Value(1e-3, sensor.Alone())
	assert.Equal(t, daq.Missing, health, "no cold junction")
	_, ok := sensor.NewThermocouple("C")
	assert.False(t, ok)
}
