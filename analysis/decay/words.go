package decay

import (
	"fmt"
	"math"

	"holdbench/analysis/si"
)

const (
	// muchOf is the share of an estimate's standard uncertainty from which on
	// one of its lines is what it is about.
	muchOf = 0.5
	// pumpedBy is the pressure step from which on the warmth that it leaves in
	// a liquid is worth a word, Pa: 10 bar warm oil by about 0.13 K.
	pumpedBy = 10e5
)

// tell puts into words what the fit found out about temperature.
func (f *fitting) tell(r *Result) {
	d := &r.Diagnostics
	d.InStep = f.inStep(r.Estimates["decay_rate"])
	d.Warmth = f.maybeWarmth()
	if k := f.learned; k != nil {
		text := fmt.Sprintf("the thermal coefficient was learned from this hold, whose temperature goes up and down: %s (standard uncertainty %s)",
			shown(k.value, si.ThermalCoefficient), shown(k.u, si.ThermalCoefficient))
		if known := f.in.Known.ThermalCoefficient; known != nil {
			text += fmt.Sprintf(", which agrees with the characterised %s (standard uncertainty %s)",
				shown(known.Value, si.ThermalCoefficient), shown(known.StdUncertainty, si.ThermalCoefficient))
		}
		d.Notes = append(d.Notes, text)
	}
	if w := f.warmed; w != nil && !w.placed {
		d.Notes = append(d.Notes, "the instant of locking is not known: of the characterised warmth after pressurising anything may be left")
	}
}

// inStep says that time and temperature cannot be told apart and that it
// matters; empty where neither.
func (f *fitting) inStep(rate Quantity) string {
	d := &f.diagnostics
	if f.liquid == nil || f.learned != nil || rate.Absent != "" || d.VIF < mostInflated || math.IsNaN(d.VIF) {
		return ""
	}
	var of float64
	for _, l := range rate.Budget {
		if l.Source == SourceThermalCoefficient {
			of = l.StdUncertainty
		}
	}
	if !(of >= muchOf*rate.StdUncertainty) || of == 0 {
		return ""
	}
	what := "a thermal coefficient that is not characterised"
	if f.in.Known.ThermalCoefficient != nil {
		what = "the doubt of the thermal coefficient"
	}
	return fmt.Sprintf("time and temperature go in step (correlation %.3f), so the hold cannot tell a leak from %s: that is %.0f %% of the uncertainty's square",
		d.TimeTemperature, what, 100*square(of/rate.StdUncertainty))
}

// maybeWarmth says of a loss that slows that the warmth of pressurising, which
// is not characterised, would look so too; empty where it would not.
func (f *fitting) maybeWarmth() string {
	if !f.diagnostics.StillSettling || f.in.Known.Warming != nil || !(f.in.Locked <= f.in.Start) || len(f.p) == 0 {
		return ""
	}
	low := math.Inf(1)
	for i, t := range f.in.Pressure.Time {
		if t > f.in.Locked {
			break
		}
		if v := f.in.Pressure.Value[i]; v < low { // false where there is no reading
			low = v
		}
	}
	step := f.p[0] - low
	if !(step >= pumpedBy) || math.IsInf(step, 0) {
		return ""
	}
	return fmt.Sprintf("a liquid that was pumped up by %s and gives its warmth away would slow the loss in the same way: that warmth is not characterised",
		shown(step, si.Pressure))
}
