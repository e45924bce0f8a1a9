package decay

import (
	"math"

	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// SourceTemperatureEffect is the line of a budget for the transducer's zero,
// which goes with the temperature of its surroundings.
const SourceTemperatureEffect = "transducer temperature effect"

// ambientBlocks is of how many means the surroundings' temperature is taken.
const ambientBlocks = 60

// takeAmbient takes the temperature of the transducer's surroundings since
// t0: that of the ambient channel, or else that of the liquid.
func (f *fitting) takeAmbient() {
	if f.in.Transducer.TemperatureEffect == 0 {
		return
	}
	c, _, _ := WithoutSpikes(f.in.Ambient.Window(f.in.Start, f.in.End))
	switch {
	case c.Len() > 0:
		if c.Len() > ambientBlocks {
			c = evenBlocks(c, ambientBlocks)
		}
		f.ambient = f.courseOf(c)
	case f.liquid != nil:
		f.ambient = make([]float64, len(f.t))
		for i, t := range f.liquid.at {
			f.ambient[i] = t - f.liquid.start
		}
	}
}

// courseOf is a column at the places of what is fitted, since t0.
func (f *fitting) courseOf(c series.Column) []float64 {
	start := interpolate(c.Time, c.Value, f.in.Start)
	out := make([]float64, len(f.t))
	for i, t := range f.t {
		out[i] = interpolate(c.Time, c.Value, f.in.Start+t) - start
	}
	return out
}

// temperatureEffect is the standard uncertainty that the surroundings leave
// through the transducer's zero where they change by that much, K, in what is
// sought.
func (f *fitting) temperatureEffect(change float64) uncertainty.Line {
	note := "of the change of the surroundings' temperature"
	if f.in.Ambient.Len() == 0 {
		note = "of the change of the probe's temperature, which stands for the surroundings'"
	}
	return uncertainty.Line{
		Source: SourceTemperatureEffect, DegreesOfFreedom: math.Inf(1),
		StdUncertainty: f.in.Transducer.TemperatureEffect * math.Abs(change), Note: note,
	}
}

// ambientChange is by how much the surroundings' temperature has changed from
// t0 to that time after it, K.
func (f *fitting) ambientChange(after float64) float64 {
	if f.ambient == nil {
		return 0
	}
	return interpolate(f.t, f.ambient, after)
}
