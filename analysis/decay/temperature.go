package decay

import (
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
	"math"
)

// UnknownThermalCoefficient stands for the largest thermal coefficient that a
// liquid in a stiff volume shows, Pa/K: 12 bar/K. Where the coefficient is not
// characterised, nothing is compensated and this times the temperature's
// change is the standard uncertainty of what was left out.
//
// Source: mineral oil, α 7e-4/K, K 1.5 GPa, in a rigid vessel: 10.5 bar/K
// (mark C; oil's figures mark M), and a margin of the house's own.
const UnknownThermalCoefficient = 12e5

func (f *fitting) takeTemperature() {
	if f.in.Temperature.Len() == 0 {
		f.noTemp = "no temperature channel: what the liquid's temperature did to the pressure cannot be told"
		return
	}
	d := &f.diagnostics
	var inside series.Column
	inside, d.TemperatureSetAside, d.TemperatureSuspect = WithoutSpikes(f.in.Temperature.Window(f.in.Start, f.in.End))
	if f.o.ExactTemperature && inside.Len() > 0 {
		f.liquid = asGiven(inside, f.instants(), f.in.Start)
		return
	}
	s, err := smoothed(inside, f.in.Start, f.in.End, f.in.Thermometer.Resolution)
	if err != nil {
		f.noTemp = err.Error()
		return
	}
	before, _, _ := WithoutSpikes(f.in.Temperature.Window(math.Inf(-1), math.Nextafter(f.in.Start, math.Inf(-1))))
	f.lag = f.lagFor(s)
	at := func(lag float64) *liquid { return s.liquidOf(lag, before, f.instants(), f.in.Start) }
	f.liquid = at(f.lag.Value)
	if u := f.lag.StdUncertainty; u > 0 {
		f.lower, f.upper = at(f.lag.Value-u), at(f.lag.Value+u)
	}
}

// instants are the times of what is fitted, since the recording's start.
func (f *fitting) instants() []float64 {
	out := make([]float64, len(f.t))
	for i, t := range f.t {
		out[i] = f.in.Start + t
	}
	return out
}

// unknownLag is the standard uncertainty of a lag between probe and liquid
// that is not characterised, s: a probe in a pocket takes some tens of seconds.
//
// Source: common practice (mark P).
const unknownLag = 30

// lagFor is the characterised lag, or none. Where it is not characterised it is
// doubtful as soon as the probe's reading bends: under a ramp a lag changes
// nothing.
func (f *fitting) lagFor(s *smooth) uncertainty.Estimate {
	if f.in.Known.Lag != nil {
		return *f.in.Known.Lag
	}
	none := uncertainty.Estimate{DegreesOfFreedom: math.Inf(1)}
	if s.bends() {
		none.StdUncertainty = unknownLag
	}
	return none
}

// coefficient is B as held; where it is not characterised 0, with the bound
// as its uncertainty.
func (f *fitting) coefficient() uncertainty.Estimate {
	if f.in.Known.ThermalCoefficient == nil {
		return uncertainty.Estimate{StdUncertainty: UnknownThermalCoefficient, DegreesOfFreedom: math.Inf(1)}
	}
	return *f.in.Known.ThermalCoefficient
}

// sensitivity is by how much an error of temperature counts, Pa/K.
func (f *fitting) sensitivity() float64 {
	if f.in.Known.ThermalCoefficient == nil {
		return UnknownThermalCoefficient
	}
	return math.Abs(f.coefficient().Value)
}

// compensate refers pressures to the liquid's temperature at t0.
func compensate(pressure, liquid []float64, tf0, b float64) []float64 {
	compensated := make([]float64, len(pressure))
	for i, p := range pressure {
		tf := liquid[i]
		compensated[i] = p - b*(tf-tf0)
	}
	return compensated
}
