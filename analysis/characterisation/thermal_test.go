package characterisation

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
)

// Runs with true coefficient, lag and phase drawn anew; seeds 1….
func TestThermalRecoversTheTruthWithHonestCoverage(t *testing.T) {
	const runs = 40
	var coefficients, lags, refused int
	var worst, squares float64
	for seed := range uint64(runs) {
		rng := rand.New(rand.NewPCG(seed+1, 3))
		m := reference()
		m.coefficient = 4.5e5 + 1e5*rng.NormFloat64()/2
		m.lag = 15 + 60*rng.Float64()
		m.leak *= 4 * (rng.Float64() - 0.3)
		phase, period := 2*math.Pi*rng.Float64(), 1200+1400*rng.Float64()
		m.body = func(t float64) float64 { return 293.15 + 0.6*math.Sin(2*math.Pi*t/period+phase) }
		m.skew = (rng.Float64() - 0.5) * m.interval
		th := ThermalOf(m.record(seed + 1))
		if th.Refused != "" {
			refused++
			continue
		}
		if covers(th.Coefficient.Estimate, m.coefficient) {
			coefficients++
		}
		if covers(th.Lag.Estimate, m.lag) {
			lags++
		}
		z := (th.Coefficient.Value - m.coefficient) / th.Coefficient.StdUncertainty
		worst = math.Max(worst, math.Abs(z))
		squares += z * z
		assert.Less(t, th.Coefficient.StdUncertainty, 0.1*m.coefficient, "an uncertainty that says nothing covers everything")
	}
	n := float64(runs - refused)
	t.Logf("seeds 1 to %d: coverage of B %.3f, of the lag %.3f, rms z %.2f, worst %.2f, refused %d", runs, float64(coefficients)/n, float64(lags)/n, math.Sqrt(squares/n), worst, refused)
	assert.Less(t, refused, runs/10)
	// Of 40 runs three standard errors of 0.95 are 0.103.
	assert.Greater(t, float64(coefficients)/n, 0.847)
	assert.Greater(t, math.Sqrt(squares/n), 0.6, "an uncertainty far too wide")
	assert.Greater(t, float64(lags)/n, 0.9)
}

// A probe with a time constant of its own, settling, and a liquid that is warmer
// by its pumping up, at temperatures moved ever more slowly: the interval holds
// the truth or the run is refused, and slow movement gives a sharp figure.
func TestThermalHoldsTheTruthWithTwoLagsSettlingAndWarming(t *testing.T) {
	for _, segment := range []float64{15, 30, 75} {
		var held, lags, refused int
		const runs = 5
		var widest float64
		for seed := range uint64(runs) {
			m := reference()
			m.probeLag, m.offset, m.amplitude, m.tau = 3, 0.033, 0.2e5, 25
			m.probeNoise, m.noise, m.correlation, m.interval = 0.01, 0.01e5, 0, 0.25
			m.duration = max(6*segment, 180)
			m.body = func(t float64) float64 {
				return 293.15 + 0.01*segment*(1-math.Abs(math.Mod(max(t, 0)/segment, 4)-2))
			}
			th := ThermalOf(m.record(seed + 1))
			if th.Refused != "" {
				refused++
				assert.NotContains(t, th.Refused, "fit:", "segment %g: %s", segment, th.Refused)
				continue
			}
			if covers(th.Coefficient.Estimate, m.coefficient) {
				held++
			}
			if covers(th.Lag.Estimate, m.lag-m.probeLag) {
				lags++
			}
			widest = math.Max(widest, th.Coefficient.StdUncertainty/m.coefficient)
		}
		t.Logf("segments of %g s: held %d, lag held %d, refused %d of %d, widest u %.4f", segment, held, lags, refused, runs, widest)
		assert.GreaterOrEqual(t, held+refused, runs-1, "segments of %g s", segment)
		if segment >= 75 {
			assert.Zero(t, refused)
			assert.Less(t, widest, 0.03)
			assert.GreaterOrEqual(t, lags, runs-1)
		}
	}
}

// What no term explains: a slow wave of the pressure's own.
func TestThermalRefusesAWaveOfNoKnownCause(t *testing.T) {
	m := reference()
	r := m.record(4)
	for i, at := range r.Pressure.Time {
		r.Pressure.Value[i] += 0.6e5 * math.Sin(2*math.Pi*at/410)
	}
	th := ThermalOf(r)
	assert.Contains(t, th.Refused, "neither lags, settling nor a steady leak explain")
	assert.Contains(t, th.Refused, "move the temperature slowly against the lag")
	assert.Zero(t, th.Coefficient.Value)
}

func TestThermalOfALeadingProbe(t *testing.T) {
	m := reference()
	m.lag = -25
	th := ThermalOf(m.record(5))
	require.Empty(t, th.Refused)
	assert.InDelta(t, -25, th.Lag.Value, 3*th.Lag.StdUncertainty)
	assert.InDelta(t, m.coefficient, th.Coefficient.Value, 3*th.Coefficient.StdUncertainty)
}

// A tolerance class is the same in every run, a cold junction that is not
// measured moves otherwise in each.
func TestThermalKnowsOfTheThermometersShares(t *testing.T) {
	r := reference().record(5)
	plain := ThermalOf(r).Coefficient
	r.Thermometer.Shares = []decay.Share{{Source: decay.SourceToleranceClass, Gain: 0.05}, {Source: decay.SourceColdJunction, Shift: 0.1}}
	th := ThermalOf(r)
	require.Empty(t, th.Refused)
	moved := slices.Max(th.Liquid) - slices.Min(th.Liquid)
	assert.Equal(t, plain.Value, th.Coefficient.Value)
	assert.InEpsilon(t, math.Hypot(plain.Common, 0.05*plain.Value), th.Coefficient.Common, 1e-6)
	want := math.Sqrt(math.Pow(plain.StdUncertainty, 2) + math.Pow(0.05*plain.Value, 2) + math.Pow(0.1*plain.Value/moved, 2))
	assert.InEpsilon(t, want, th.Coefficient.StdUncertainty, 1e-6)
}

func TestThermalRefusesWhatItCannotTell(t *testing.T) {
	m := reference()
	m.body = func(t float64) float64 { return 293.15 + 2*t/3600 }
	th := ThermalOf(m.record(1))
	assert.Contains(t, th.Refused, "time and temperature cannot be told apart")
	assert.Contains(t, th.Refused, "make the temperature go up and down")
	assert.Zero(t, th.Coefficient.Value)

	m.body = func(float64) float64 { return 293.15 }
	m.probeNoise = 0.0005
	assert.Contains(t, ThermalOf(m.record(1)).Refused, "the temperature hardly moved")

	r := reference().record(1)
	r.Temperature = r.Temperature.Window(0, -1)
	assert.Contains(t, ThermalOf(r).Refused, "no temperature channel")
	r = reference().record(1)
	r.Pressure = r.Pressure.Window(0, 3)
	assert.Contains(t, ThermalOf(r).Refused, "fewer than 30 valid pressure readings")
	r = reference().record(1)
	r.End = math.NaN()
	assert.Contains(t, ThermalOf(r).Refused, "the run has no window")
	m = reference()
	m.coefficient = -2e5
	assert.Contains(t, ThermalOf(m.record(1)).Refused, "the pressure does not rise with the temperature")
}

// The negative control: the raw column as regressor shrinks the coefficient.
func TestRawColumnWouldShrinkTheCoefficient(t *testing.T) {
	m := reference()
	m.probeNoise, m.probeStep, m.lag = 0.4, 0, 0
	r := m.record(8)
	th := ThermalOf(r)
	require.Empty(t, th.Refused)
	var sxy, sxx, mx, my float64
	n := float64(r.Pressure.Len())
	for i, v := range r.Pressure.Value {
		mx, my = mx+r.Temperature.Value[i]/n, my+v/n
	}
	for i, v := range r.Pressure.Value {
		sxy += (r.Temperature.Value[i] - mx) * (v - my)
		sxx += (r.Temperature.Value[i] - mx) * (r.Temperature.Value[i] - mx)
	}
	assert.Less(t, sxy/sxx, 0.8*m.coefficient, "plain least squares on the readings")
	assert.InDelta(t, m.coefficient, th.Coefficient.Value, 4*th.Coefficient.StdUncertainty)
	assert.InEpsilon(t, m.coefficient, th.Coefficient.Value, 0.05)
}
