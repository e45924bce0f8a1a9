package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// Twelve made points with time and temperature in step: h, °C and bar, made
// with B 10 bar/K and a leak of 0.020 bar/h. The figures below were computed
// with an independent statistics package (mark C).
var (
	twelveT = []float64{20.00, 20.06, 20.13, 20.15, 20.18, 20.26, 20.34, 20.36, 20.38, 20.45, 20.54, 20.57}
	twelveP = []float64{100.00, 100.55, 101.27, 101.42, 101.73, 102.49, 103.30, 103.44, 103.62, 104.30, 105.21, 105.45}
)

const barPerHour = bar / 3600

func twelvePoints() Input {
	in := Input{
		Start: 0, End: 11 * 3600, Locked: math.NaN(),
		Pressure:    series.Column{Quantity: si.Pressure},
		Temperature: series.Column{Quantity: si.Temperature},
		Known:       Characterised{ThermalCoefficient: exactly(10*bar, 0.2*bar)},
	}
	for i := range twelveT {
		t := 3600 * float64(i)
		in.Pressure.Time, in.Pressure.Value = append(in.Pressure.Time, t), append(in.Pressure.Value, twelveP[i]*bar)
		in.Temperature.Time, in.Temperature.Value = append(in.Temperature.Time, t), append(in.Temperature.Value, twelveT[i]+273.15)
	}
	return in
}

// Raw slope +0.48965; held B 10 ± 0.2 bar/K, compensated slope
// −0.0208392 bar/h, s_b 0.0015113, dT/dt 0.0510490 K/h, u 0.0103210. The
// residuals are correlated below 0, so the factor stays 1.
func TestTwelvePointsWithHeldCoefficient(t *testing.T) {
	r := Fit(twelvePoints(), Options{ExactTemperature: true})
	rate := r.Estimates["decay_rate"]
	require.Empty(t, rate.Absent)
	assert.InDelta(t, 0.0208392, rate.Value/barPerHour, 0.5e-7)
	assert.InDelta(t, 0.0103210, rate.StdUncertainty/barPerHour, 0.5e-7)
	assert.InDelta(t, 0.0015113, budgetLine(t, rate, SourceNoise)/barPerHour, 0.5e-7)
	assert.InDelta(t, 0.2*0.0510490, budgetLine(t, rate, SourceThermalCoefficient)/barPerHour, 0.5e-7)
	assert.InDelta(t, 0.0510490, r.Diagnostics.LiquidRate*3600, 0.5e-7)
	assert.InDelta(t, -0.48965, r.Diagnostics.RawRate/barPerHour, 0.5e-5)
	assert.Less(t, r.Diagnostics.Autocorrelation, 0.0)
	assert.Equal(t, 1.0, r.Diagnostics.Inflation)
	assert.InDelta(t, 0.0208392*11, r.Estimates["drop"].Value/bar, 0.5e-6)
}

// With the temperatures as readings of an imperfect thermometer the value is
// nearly the same, because a straight line through them has the same slope,
// and the interval wider by what they scatter.
func TestTwelvePointsWithReadTemperatures(t *testing.T) {
	given := Fit(twelvePoints(), Options{ExactTemperature: true}).Estimates["decay_rate"]
	read := Fit(twelvePoints(), Options{}).Estimates["decay_rate"]
	assert.InDelta(t, given.Value/barPerHour, read.Value/barPerHour, 1e-6)
	assert.Greater(t, read.StdUncertainty, 1.5*given.StdUncertainty)
	assert.Positive(t, budgetLine(t, read, SourceTemperatureReading))
}

func budgetLine(t *testing.T, q Quantity, source string) float64 {
	t.Helper()
	for _, l := range q.Budget {
		if l.Source == source {
			return l.StdUncertainty
		}
	}
	t.Fatalf("no line %q in the budget", source)
	return 0
}
