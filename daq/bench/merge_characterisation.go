package bench

import (
	"strings"

	"holdbench/analysis/uncertainty"
)

// figureKey is a figure of a characterisation: its key in the file, its name in
// words, and where it is kept. Figures of one name stand in a block together.
type figureKey struct {
	key, name string
	of        func(c *Characterisation) **uncertainty.Estimate
}

// figureKeys is the one table of the figures that a block may have.
var figureKeys = []figureKey{
	{"thermal_coefficient", "thermal coefficient", func(c *Characterisation) **uncertainty.Estimate { return &c.ThermalCoefficient }},
	{"lag", "lag", func(c *Characterisation) **uncertainty.Estimate { return &c.Lag }},
	{"stiffness", "stiffness", func(c *Characterisation) **uncertainty.Estimate { return &c.Stiffness }},
	{"settling_amplitude", "settling", func(c *Characterisation) **uncertainty.Estimate { return &c.SettlingAmplitude }},
	{"settling_time_constant", "settling", func(c *Characterisation) **uncertainty.Estimate { return &c.SettlingTimeConstant }},
	{"creep", "creep", func(c *Characterisation) **uncertainty.Estimate { return &c.Creep }},
	{"warming_amplitude", "warming", func(c *Characterisation) **uncertainty.Estimate { return &c.WarmingAmplitude }},
	{"warming_time_constant", "warming", func(c *Characterisation) **uncertainty.Estimate { return &c.WarmingTimeConstant }},
	{"viscosity_change", "viscosity change", func(c *Characterisation) **uncertainty.Estimate { return &c.ViscosityChange }},
	{"noise", "noise", func(c *Characterisation) **uncertainty.Estimate { return &c.Noise }},
	{"drift", "drift", func(c *Characterisation) **uncertainty.Estimate { return &c.Drift }},
}

// lapsed is a block that does not fit, and why.
type lapsed struct {
	block *Characterisation
	why   string
}

// merged takes each figure from the first of the blocks that has it. Source
// names each block with what was taken from it where there are several, the
// expiry is the earliest of them and the range what they have in common.
func merged(fitting []*Characterisation, others []lapsed) *Characterisation {
	out := *fitting[0]
	var used []*Characterisation
	taken := map[*Characterisation][]string{}
	from := map[string]*Characterisation{}
	for _, f := range figureKeys {
		*f.of(&out) = nil
		for _, c := range fitting {
			if *f.of(c) == nil {
				continue
			}
			*f.of(&out) = *f.of(c)
			from[f.key] = c
			if len(taken[c]) == 0 {
				used = append(used, c)
			}
			if n := len(taken[c]); n == 0 || taken[c][n-1] != f.name {
				taken[c] = append(taken[c], f.name)
			}
			break
		}
	}
	out.LagCorrelation = 0
	if c := from["lag"]; c != nil && c == from["thermal_coefficient"] {
		out.LagCorrelation = c.LagCorrelation
	}
	if c := from["settling_amplitude"]; c != nil {
		out.SettlingCorrelation = c.SettlingCorrelation
	}
	if c := from["noise"]; c != nil {
		out.NoiseAutocorrelation = c.NoiseAutocorrelation
	}
	var sources []string
	for _, c := range used {
		out.PressureLow, out.PressureHigh = max(out.PressureLow, c.PressureLow), min(out.PressureHigh, c.PressureHigh)
		if c.Expiry.Before(out.Expiry) {
			out.Expiry = c.Expiry
		}
		sources = append(sources, strings.Join(taken[c], ", ")+": "+c.Source)
	}
	if len(used) > 1 {
		out.Source = strings.Join(sources, "; ")
	} else if len(used) == 1 {
		out.Source = used[0].Source
	}
	out.Lapsed = missing(&out, others)
	return &out
}

// missing says of each figure that is not there why the latest block that has
// it does not fit.
func missing(have *Characterisation, others []lapsed) []string {
	var out []string
	seen := map[string]bool{}
	for _, f := range figureKeys {
		if *f.of(have) != nil || seen[f.name] {
			continue
		}
		for _, o := range others {
			if *f.of(o.block) != nil {
				seen[f.name] = true
				out = append(out, f.name+": "+o.why)
				break
			}
		}
	}
	return out
}
