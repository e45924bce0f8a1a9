package result

import (
	"strings"

	"holdbench/analysis/decay"
	"holdbench/daq/bench"
)

// Known is what was characterised, as an analysis takes it. Figures that a
// block has, but not one that fits, are named in its source.
func Known(c *bench.Characterisation) decay.Characterised {
	out := decay.Characterised{
		ThermalCoefficient: c.ThermalCoefficient, Lag: c.Lag, LagCorrelation: c.LagCorrelation,
		Stiffness: c.Stiffness, Creep: c.Creep, ViscosityChange: c.ViscosityChange, Source: c.Source,
	}
	if c.SettlingAmplitude != nil && c.SettlingTimeConstant != nil {
		out.Settling = &decay.Settling{
			Amplitude: *c.SettlingAmplitude, TimeConstant: *c.SettlingTimeConstant, Correlation: c.SettlingCorrelation,
		}
	}
	if c.WarmingAmplitude != nil && c.WarmingTimeConstant != nil {
		out.Warming = &decay.Warming{Amplitude: *c.WarmingAmplitude, TimeConstant: *c.WarmingTimeConstant}
	}
	if len(c.Lapsed) > 0 {
		out.Source += "; not taken: " + strings.Join(c.Lapsed, "; ")
	}
	return out
}
