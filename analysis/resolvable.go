package analysis

import (
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// decidesFrom is the ratio of limit to standard uncertainty from which a hold
// decides reliably.
//
// Source: common practice, 1.645 on either side of the limit (mark P).
const decidesFrom = 3.3

// Prospect is what is known before a test of what it will be like. Figures
// that are not known are 0, ThermalCoefficient nil.
type Prospect struct {
	// Duration of the hold, s.
	Duration float64
	// Noise is the standard deviation of one pressure reading, Pa, Readings
	// their number in the hold, Inflation the factor for autocorrelation
	// (under 1: 1).
	Noise     float64
	Readings  int
	Inflation float64
	// TemperatureNoise and TemperatureReadings likewise, K; the resolution is
	// the reading's step, K.
	TemperatureNoise      float64
	TemperatureReadings   int
	TemperatureResolution float64
	// TemperatureChange is how much the liquid's temperature is expected to
	// change over the hold, K.
	TemperatureChange float64
	// ThermalCoefficient in Pa/K; nil takes the bound for an unknown one.
	ThermalCoefficient *uncertainty.Estimate
	// Drift of the transducer, Pa/s, standard uncertainty.
	Drift float64
}

// Resolution is what a hold can resolve.
type Resolution struct {
	// Duration of the hold, s.
	Duration float64
	// StdUncertainty is that of the decay rate to be expected, Pa/s.
	StdUncertainty float64
	// SmallestLimit is the smallest limit on the decay rate that the hold
	// decides reliably, Pa/s; times Duration for a limit on the drop.
	SmallestLimit float64
	// Budget lists the terms, Pa/s.
	Budget uncertainty.Budget
}

// Resolvable says before a test what it can decide:
//
//	u = [2u_p² + 2(B·u_T)² + (u_B·ΔT)² + (u_drift·t)²]^½ / t,  smallest limit 3.3 u
//
// with u_p = σ·√(6/n), so that √2·u_p/t is the standard deviation of the
// slope through n readings, and u_T likewise with the rounding's q/√12 where
// the noise is below half a step. NaN for a Prospect without Duration.
//
// Source: the instrument selection guide of containment leak rate tests
// (ANSI/ANS-56.8, mark M) in a bench's terms; √12·σ/(T·√n) for a slope (mark C).
func Resolvable(p Prospect) Resolution {
	if !(p.Duration > 0) {
		return Resolution{Duration: p.Duration, StdUncertainty: math.NaN(), SmallestLimit: math.NaN()}
	}
	exact := math.Inf(1)
	b := uncertainty.Estimate{StdUncertainty: decay.UnknownThermalCoefficient}
	sensitivity := decay.UnknownThermalCoefficient
	if p.ThermalCoefficient != nil {
		b = *p.ThermalCoefficient
		sensitivity = math.Abs(b.Value)
	}
	rounding := 0.0
	if p.TemperatureNoise < p.TemperatureResolution/2 {
		rounding = p.TemperatureResolution / math.Sqrt(12)
	}
	pressure := endU(p.Noise, p.Readings) * max(p.Inflation, 1)
	temperature := sensitivity * endU(p.TemperatureNoise, p.TemperatureReadings)
	budget := uncertainty.Budget{
		{Source: decay.SourceNoise, StdUncertainty: math.Sqrt2 * pressure, DegreesOfFreedom: exact},
		{Source: decay.SourceTemperatureReading, StdUncertainty: math.Sqrt2 * temperature, DegreesOfFreedom: exact},
		{Source: decay.SourceTemperatureResolution, StdUncertainty: math.Sqrt2 * sensitivity * rounding, DegreesOfFreedom: exact},
		{Source: decay.SourceThermalCoefficient, StdUncertainty: b.StdUncertainty * math.Abs(p.TemperatureChange), DegreesOfFreedom: exact},
		{Source: decay.SourceDrift, StdUncertainty: p.Drift * p.Duration, DegreesOfFreedom: exact},
	}
	for i := range budget {
		budget[i].StdUncertainty /= p.Duration
	}
	u, _ := budget.Combined()
	return Resolution{Duration: p.Duration, StdUncertainty: u, SmallestLimit: decidesFrom * u, Budget: budget}
}

// endU is the uncertainty of either end of a line through n readings with
// scatter sigma; sigma itself where n is not known.
func endU(sigma float64, n int) float64 {
	if n <= 6 {
		return sigma
	}
	return sigma * math.Sqrt(6/float64(n))
}

// Resolves reports whether a hold with this resolution reliably decides a
// limit on a decay rate, leak rate or drop; limits on other quantities are not
// looked at and give true.
func (r Resolution) Resolves(l verdict.Limit) bool {
	switch l.Quantity {
	case quantityDecayRate, quantityLeakRate:
		return l.Value >= r.SmallestLimit
	case quantityDrop:
		return l.Value >= r.SmallestLimit*r.Duration
	}
	return true
}

// InWords is the smallest limit on the decay rate as pages show it.
func (r Resolution) InWords() string { return fine(r.SmallestLimit, si.PressureRate) }
