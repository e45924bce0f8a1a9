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

func platinum(t require.TestingT, name string) sensor.RTD {
	r, ok := sensor.NewRTD(name)
	require.True(t, ok, name)
	return r
}

// C: the function in decimal arithmetic; V: as printed in a public copy of the
// table of IEC 60751, whose entry at −160 °C is a misprint (35.34 for 35.54).
func TestPlatinumGivesThePublishedTable(t *testing.T) {
	pt100, pt1000 := platinum(t, "Pt100"), platinum(t, "Pt1000")
	misprints := 0
	for _, row := range rows(t, "rtd/pt100-table.csv") {
		at := number(t, row["t_C"]) + zeroCelsius
		got := pt100.Resistance(at)
		assert.InDelta(t, number(t, row["ohm_exact"]), got, 1e-9, row["t_C"])
		assert.InDelta(t, number(t, row["ohm"]), got, half(row["ohm"]), row["t_C"])
		assert.InDelta(t, 10*got, pt1000.Resistance(at), 1e-9)
		if printed := row["ohm_public"]; printed != "" && math.Abs(number(t, printed)-got) > half(printed) {
			misprints++
			assert.Equal(t, "-160", row["t_C"])
		}
		assert.InDelta(t, at, pt100.Temperature(number(t, row["ohm_exact"])), 1e-8, row["t_C"])
		const h = 1e-3
		if t0 := number(t, row["t_C"]); t0 > -200 && t0 < 850 {
			slope := (pt100.Resistance(at+h) - pt100.Resistance(at-h)) / (2 * h)
			assert.InDelta(t, number(t, row["dR_dt_ohm_per_C"]), slope, 1e-6, row["t_C"])
		}
	}
	assert.Equal(t, 1, misprints)
}

// C: solved in 50-digit arithmetic, −200 to 850 °C.
func TestTemperaturesOfResistances(t *testing.T) {
	for _, row := range rows(t, "rtd/inverse-check.csv") {
		got := platinum(t, "Pt100").Temperature(number(t, row["ohm"]))
		want := number(t, row["t_C"])
		if want < -200 || want > 850 {
			assert.True(t, math.IsNaN(got) || math.Abs(got-zeroCelsius-want) < 1e-6, row)
			continue
		}
		assert.InDelta(t, want, got-zeroCelsius, 1e-6, row)
	}
}

// law: there and back to 1e-9 K, and rising.
func TestPlatinumUndoesAndRises(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := platinum(r, rapid.SampledFrom([]string{"Pt100", "Pt1000"}).Draw(r, "sensor"))
		at := rapid.Float64Range(-200, 850).Draw(r, "t") + zeroCelsius
		got, health := s.Value(s.Signal(at, sensor.Alone()), sensor.Alone())
		require.Equal(r, daq.Healthy, health)
		require.InDelta(r, at, got, 1e-8)
		other := rapid.Float64Range(-200, 850).Draw(r, "other") + zeroCelsius
		if math.Abs(other-at) > 1e-9 {
			require.Equal(r, other > at, s.Resistance(other) > s.Resistance(at))
		}
	})
}

func TestOpenAndShortedPlatinum(t *testing.T) {
	s := platinum(t, "Pt100")
	for ohm, want := range map[float64]daq.Health{
		0: daq.ShortCircuit, 2: daq.ShortCircuit, 18.6: daq.Healthy, 100: daq.Healthy, 390.4: daq.Healthy,
		400: daq.BrokenWire, math.Inf(1): daq.BrokenWire, math.NaN(): daq.Invalid,
	} {
		value, health := s.Value(ohm, sensor.Alone())
		assert.Equal(t, want, health, "%g Ω", ohm)
		assert.Equal(t, want != daq.Healthy, math.IsNaN(value))
	}
	_, ok := sensor.NewRTD("Pt50")
	assert.False(t, ok)
}
