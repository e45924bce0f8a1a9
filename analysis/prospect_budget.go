package analysis

import (
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
)

// doubts lists what will make Σ g·p_c uncertain, p_c the pressures referred to
// the temperature at t0, in the sum's unit, for a unit that loses at that rate,
// Pa/s. Settling is apart.
//
// Source: JCGM 100:2008, 5.1.2; the terms 2u_p² + 2(B·u_T)² + (u_B·ΔT)² +
// (u_drift·t)² of a slope are those of the instrument selection guide of
// containment leak rate tests (ANSI/ANS-56.8, mark M) in a bench's terms.
func (e expected) doubts(g []float64, rate float64) uncertainty.Budget {
	exact := math.Inf(1)
	line := func(source string, u, dof float64) uncertainty.Line {
		return uncertainty.Line{Source: source, StdUncertainty: math.Abs(u), DegreesOfFreedom: dof}
	}
	x, sum, time := e.Transducer, weighted(g, ones), weighted(g, e.t)
	if math.Abs(sum) < 1e-9*math.Sqrt(weighted(g, g)) {
		sum = 0
	}
	shown := e.pressures(rate)
	swept := math.Abs(shown[gridPoints-1] - shown[0])
	budget := uncertainty.Budget{
		line(decay.SourceNoise, max(e.Inflation, 1)*scatterOf(g, e.Noise, e.Readings), e.noiseDegrees()),
		line(decay.SourceOffset, x.Offset*sum, exact),
		line(decay.SourceGain, x.Gain*(weighted(g, shown)), exact),
		line(decay.SourceDrift, x.Drift*time, exact),
		line(decay.SourceResolution, decay.Rounding(g, x.Resolution, e.Noise, swept), exact),
		line(decay.SourceCalibration, x.Calibration*sum, exact),
		line(decay.SourceTemperatureEffect, x.TemperatureEffect*weighted(g, e.warmer), exact),
	}
	budget = append(budget, decay.ShareLines(x.Shares, e.Duration, 1, weighted(g, shown), time)...)
	return append(budget, e.temperatureDoubts(g, sum, time)...)
}

var ones = func() []float64 {
	out := make([]float64, gridPoints)
	for i := range out {
		out[i] = 1
	}
	return out
}()

// temperatureDoubts are those of the compensation. What compensates is the
// temperature less that at t0.
func (e expected) temperatureDoubts(g []float64, sum, time float64) uncertainty.Budget {
	if e.NoTemperature {
		return nil
	}
	exact := math.Inf(1)
	since := make([]float64, gridPoints)
	for i := range since {
		since[i] = g[i] - sum*e.level[i]
	}
	b, sensitivity, moved := e.coefficient(), e.sensitivity(), math.Abs(weighted(g, e.warmer))
	lag, lagDegrees := decay.UnknownLag, exact
	if known := e.Known.Lag; known != nil {
		lag, lagDegrees = known.StdUncertainty, known.DegreesOfFreedom
	}
	// What the lag's doubt has in common with the coefficient's stands there.
	byLag := -sensitivity * lag * weighted(g, e.quicker)
	common := 0.0
	if e.Known.Lag != nil && e.Known.ThermalCoefficient != nil {
		common = min(max(e.Known.LagCorrelation, -1), 1) * byLag
	}
	x := e.Thermometer
	budget := uncertainty.Budget{
		{Source: decay.SourceTemperatureReading, DegreesOfFreedom: exact,
			StdUncertainty: sensitivity * scatterOf(since, e.TemperatureNoise, e.TemperatureReadings)},
		{Source: decay.SourceTemperatureResolution, DegreesOfFreedom: exact,
			StdUncertainty: sensitivity * decay.Rounding(since, x.Resolution, e.TemperatureNoise, math.Abs(e.warmer[gridPoints-1]))},
		{Source: decay.SourceThermalCoefficient, DegreesOfFreedom: b.DegreesOfFreedom,
			StdUncertainty: math.Abs(b.StdUncertainty*weighted(g, e.warmer) + common)},
		{Source: decay.SourceTemperatureGain, DegreesOfFreedom: exact, StdUncertainty: sensitivity * x.Gain * moved},
		{Source: decay.SourceTemperatureDrift, DegreesOfFreedom: exact, StdUncertainty: sensitivity * x.Drift * math.Abs(time)},
		{Source: decay.SourceLag, DegreesOfFreedom: lagDegrees,
			StdUncertainty: math.Sqrt(max(byLag*byLag-common*common, 0))},
	}
	budget = append(budget, decay.ShareLines(x.Shares, e.Duration, sensitivity, moved, time)...)
	for _, d := range decay.WarmingDoubts(e.Known, e.SinceLock) {
		d.StdUncertainty = sensitivity * math.Abs(e.sumOf(g, d.By))
		budget = append(budget, d.Line)
	}
	return budget
}

// settlingDoubts are those of a characterised settling and creep, which are
// taken out of the readings before Σ g·p; counted times what they take until a
// time since t0 is in the result again.
func (e expected) settlingDoubts(g []float64, counted, until float64) (out uncertainty.Budget) {
	for _, d := range decay.SettlingDoubts(e.Known, e.SinceLock) {
		d.StdUncertainty = math.Abs(e.sumOf(g, d.By) + counted*d.By(until))
		out = append(out, d.Line)
	}
	return out
}

// sumOf is Σ g·f(t).
func (e expected) sumOf(g []float64, f func(t float64) float64) (sum float64) {
	for i, w := range g {
		sum += w * f(e.t[i])
	}
	return sum
}
