package characterisation

import (
	"fmt"
	"math"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// StiffnessRun is a run with known volume steps.
type StiffnessRun struct {
	Record
	Steps []Step
	// Volume of the trapped liquid, m³; 0 where not known: then nothing is
	// said of air.
	Volume float64
	// Ambient is the air's pressure, Pa absolute.
	Ambient float64
}

// Stiffness is what a run with volume steps says.
type Stiffness struct {
	Refused string
	// Stiffness of the relaxed pressure, Pa/m³.
	Stiffness Figure
	// Quick is the stiffness that the pressure shows right after a step over
	// the relaxed one: above 1, because a quick step is adiabatic.
	Quick uncertainty.Estimate
	// TimeConstant of the relaxation after a step, s.
	TimeConstant uncertainty.Estimate
	// Each step's own stiffness.
	Steps []StepFigure
	// Between and Birge are those of the steps (see Combined).
	Between, Birge float64
	// Air is what the curve of pressure against volume says of trapped air;
	// nil with the reason.
	Air   *Air
	AirNo string
	Curve Curve
}

// StepFigure is one step as measured.
type StepFigure struct {
	At, Volume float64
	// From and To are the relaxed levels before and after, Pa, compensated.
	From, To  float64
	Stiffness uncertainty.Estimate
}

// relaxed is how many thermal time constants after a step its pressure counts
// as relaxed.
//
// Source: exp(−5) is less than a hundredth of what a step leaves (mark L).
const relaxed = 5

// StiffnessOf pools the relaxed pressure steps over the known volumes. The
// steps' volumes come from one device: their relative uncertainty is common to
// all and not lessened by their number. A run whose steps were given less
// than five thermal time constants is refused.
func StiffnessOf(r StiffnessRun) Stiffness {
	readings, why := r.pressures(r.Start, r.End)
	if why != "" {
		return Stiffness{Refused: why}
	}
	steps, why := placed(r.Steps, readings, r.settle(readings.Time))
	if why != "" {
		return Stiffness{Refused: why}
	}
	m, why := newStepModel(r, readings, steps)
	if why != "" {
		return Stiffness{Refused: why}
	}
	if why := m.fit(); why != "" {
		return Stiffness{Refused: why}
	}
	tau := m.tau()
	for i, s := range steps {
		if until := m.ends[i+1]; until-s.At < relaxed*tau {
			return Stiffness{Refused: fmt.Sprintf("step %d was given %s, less than five thermal time constants of %s: its pressure is not relaxed; wait at least %s after each step",
				i+1, longTime(until-s.At), longTime(tau), longTime(relaxed*tau))}
		}
	}
	out := m.pool(r)
	out.air(r, steps, m)
	return out
}

// settle is the time over which a jump is looked for, s.
func (r StiffnessRun) settle(t []float64) float64 {
	return 5 * (t[len(t)-1] - t[0]) / float64(len(t)-1)
}

// pool combines the steps.
func (m *stepModel) pool(r StiffnessRun) Stiffness {
	out := Stiffness{TimeConstant: uncertainty.Estimate{
		Value: m.tau(), StdUncertainty: m.tau() * m.solution.StdUncertainty(m.atTau()), DegreesOfFreedom: m.dof, Quantity: si.Time,
	}}
	var each []Figure
	var quickSum, weight float64
	for i, s := range m.steps {
		change, u := m.change(i)
		v := s.Volume.Value
		f := figure(change/v, si.Stiffness, uncertainty.Budget{line("noise", u/v, m.dof, "of the relaxed levels")}, nil)
		each = append(each, f)
		out.Steps = append(out.Steps, StepFigure{At: s.At, Volume: v, From: m.levelOf(i), To: m.levelOf(i + 1), Stiffness: f.Estimate})
		quickSum += m.excess(i) * v
		weight += change * v
	}
	c := Combine(each)
	out.Between, out.Birge = c.Between, c.Birge
	ratio := quickSum / weight
	_, uRatio := m.excessOverall()
	out.Quick = uncertainty.Estimate{Value: 1 + ratio, StdUncertainty: uRatio / math.Abs(weight), DegreesOfFreedom: m.dof, Quantity: si.Dimensionless}

	var volume, doubt float64
	volumeDOF := exactly
	for _, s := range m.steps {
		volume += math.Abs(s.Volume.Value)
		doubt += s.Volume.StdUncertainty
		volumeDOF = min(volumeDOF, s.Volume.DegreesOfFreedom)
	}
	k := c.Value
	out.Stiffness = figure(k, si.Stiffness,
		uncertainty.Budget{line("steps", c.StdUncertainty, c.DegreesOfFreedom, "scatter of the relaxed levels and between steps")},
		uncertainty.Budget{
			line("volume", k*doubt/volume, volumeDOF, "the device, the same for every step"),
			line("transducer gain", k*r.Transducer.Gain, exactly, "of the transducer"),
		})
	if len(m.t.at) > 0 {
		// What B may be wrong by moves all levels by the temperature's change.
		by := m.byCoefficient()
		out.Stiffness = figure(k, si.Stiffness,
			append(out.Stiffness.Budget[:1:1], line("thermal coefficient", by, m.coefficient.DegreesOfFreedom, "compensation between the steps")),
			out.Stiffness.Budget[1:])
	}
	out.Curve = m.drawn()
	if !(k > 0) {
		return Stiffness{Refused: "the pressure does not rise with the volume put in: check the sign of the steps"}
	}
	return out
}

// inflationOf is what autocorrelation does to a fit of so many parameters.
func inflationOf(residuals []float64, parameters int) (factor, dof float64) {
	factor, effective := fit.AR1Inflation(fit.Autocorrelation(residuals), len(residuals))
	return factor, max(effective-float64(parameters), 1)
}
