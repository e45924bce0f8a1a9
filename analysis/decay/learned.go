package decay

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// The rules by which a hold may say what the thermal coefficient is. The
// house's own (mark P); what they do to coverage is simulated in the tests.
const (
	// fewestLearned is how many readings there must be.
	fewestLearned = 60
	// mostInflated is the variance inflation factor of time and temperature
	// from which on the two are not told apart.
	mostInflated = 10.0
	// reliable is how much larger the square of the temperature's own movement
	// must be than that of its doubt.
	reliable = 50.0
	// clearlyBelow is the share of the characterised uncertainty, and of the
	// coefficient itself where none is characterised, that the test's own must
	// be below.
	clearlyBelow, clearlyBelowItself = 0.5, 0.2
	// agrees is within how many standard uncertainties the test and the
	// characterisation must agree.
	agrees = 2.5
)

// learned is what the hold itself says of the thermal coefficient B: the part
// of the temperature's movement that no leak and no settling looks like, x,
// against the same part of the pressure,
//
//	B = Σ x·p / (Σ x² − E Σ δ²) = Σ v·p
//
// where δ is the error of x where that adds to its movement (of coefficients
// fitted without a prior; a spline's are its expectation, whose error does
// not). Temperature carries its error: the readings themselves are never the
// regressor.
//
// Source: errors in variables, Fuller, W. A., Measurement Error Models, Wiley
// 1987, ch. 1 (mark M); regression on the expectation: Berkson, J., J. Am.
// Stat. Assoc. 45 (1950) 164 (mark M).
type learned struct {
	// v are the weights of the pressures, noise their standard uncertainty's
	// part from the pressure's scatter, u the whole; dof of the noise.
	v             []float64
	value         float64
	noise, u, dof float64
	// share is the test's part in the coefficient as used, the rest is the
	// characterised one's.
	share float64
	used  uncertainty.Estimate
}

// learn looks whether the hold says more of the thermal coefficient than is
// known beforehand, and says so in words.
func (f *fitting) learn() {
	d := &f.diagnostics
	if f.o.ExactTemperature || f.interrupted() || len(f.t) < fewestLearned || !(d.VIF < mostInflated) {
		return
	}
	k := f.ownCoefficient()
	if k == nil {
		return
	}
	d.OwnCoefficient, d.OwnCoefficientU, d.OwnCoefficientDOF = k.value, k.u, k.dof
	known := f.in.Known.ThermalCoefficient
	if known == nil {
		if !(k.value > 0 && k.value-k.u < UnknownThermalCoefficient && k.u < clearlyBelowItself*k.value) {
			return
		}
		k.share = 1
		k.used = uncertainty.Estimate{Value: k.value, StdUncertainty: k.u, DegreesOfFreedom: k.dof, Quantity: si.ThermalCoefficient}
		f.learned = k
		return
	}
	if !(k.u < clearlyBelow*known.StdUncertainty) {
		return
	}
	if apart := math.Abs(k.value - known.Value); !(apart < agrees*math.Hypot(k.u, known.StdUncertainty)) {
		f.say("temperature moved this hold's pressure by %s (standard uncertainty %s), which does not agree with the characterised thermal coefficient %s (standard uncertainty %s): that was held",
			shown(k.value, si.ThermalCoefficient), shown(k.u, si.ThermalCoefficient),
			shown(known.Value, si.ThermalCoefficient), shown(known.StdUncertainty, si.ThermalCoefficient))
		return
	}
	own, prior := 1/(k.u*k.u), 1/(known.StdUncertainty*known.StdUncertainty)
	k.share = own / (own + prior)
	k.used = *known
	k.used.Value += k.share * (k.value - known.Value)
	k.used.StdUncertainty, k.used.DegreesOfFreedom = uncertainty.Budget{
		{StdUncertainty: k.share * k.u, DegreesOfFreedom: k.dof},
		{StdUncertainty: (1 - k.share) * known.StdUncertainty, DegreesOfFreedom: known.DegreesOfFreedom},
	}.Combined()
	f.learned = k
}

// leakLike are the shapes that a leak or a settling may give the pressure, at
// the readings: up to the cube of time, two tails, and the characterised
// settling; and the characterised warmth, which no probe has seen.
func (f *fitting) leakLike() [][]float64 {
	out := table(6, len(f.t))
	for i, t := range f.t {
		x := 2*t/f.duration - 1
		out[0][i], out[1][i], out[2][i], out[3][i] = 1, x, x*x, x*x*x
		out[4][i], out[5][i] = math.Exp(-8*t/f.duration), math.Exp(-30*t/f.duration)
	}
	if s := f.in.Known.Settling; s != nil && s.TimeConstant.Value > 0 {
		tail := make([]float64, len(f.t))
		for i, t := range f.t {
			tail[i] = math.Exp(-t / s.TimeConstant.Value)
		}
		out = append(out, tail)
	}
	if f.warmed != nil {
		for _, curve := range f.warmed.curves {
			out = append(out, append([]float64(nil), curve...))
		}
	}
	return out
}

// ownCoefficient is what the hold says of B; nil where it says nothing.
func (f *fitting) ownCoefficient() *learned {
	like := independent(f.leakLike())
	x := freedOf(like, f.liquid.at)
	own := floats.Dot(x, x)
	classical, berkson := f.liquid.doubtBeside(like)
	steps := float64(len(x)) * square(f.liquid.quantum*movedBy(f.liquid.sweep, f.liquid.resolution))
	if !(own > reliable*(classical+berkson+steps)) {
		return nil
	}
	k := &learned{v: x}
	floats.Scale(1/(own-classical), k.v)
	near := append([]float64(nil), f.p...)
	floats.AddConst(-f.p[0], near)
	k.value = floats.Dot(k.v, near)
	left := freedOf(like, near)
	floats.AddScaled(left, -k.value*own, k.v) // x again, but for the correction
	if f.upper != nil {                       // a lag that is off is a doubt of its own
		both := append([]float64(nil), f.upper.at...)
		floats.Sub(both, f.lower.at)
		left = freedOf(independent([][]float64{freedOf(like, both)}), left)
	}
	if own := f.follows.shape(); own != nil {
		left = freedOf(independent([][]float64{freedOf(like, own)}), left)
	}
	sigma := rms(left, len(left)-len(like)-1)
	inflation, effective := fit.AR1Inflation(fit.Autocorrelation(left), len(left))
	k.noise = inflated(sigma*floats.Norm(k.v, 2), inflation)
	k.dof = max(effective-float64(len(like)+1), 1)
	r := f.respond(k.v)
	temperature := math.Hypot(f.liquid.noiseOf(r.shapes), f.liquid.resolutionOf(f.root()*floats.Norm(k.v, 2)))
	temperature = math.Hypot(temperature, math.Hypot(f.byLag(r), math.Hypot(f.byOwn(r), f.gradientOf(r))))
	k.u, k.dof = uncertainty.Budget{
		{StdUncertainty: k.noise, DegreesOfFreedom: k.dof},
		{StdUncertainty: math.Abs(k.value) * temperature, DegreesOfFreedom: math.Inf(1)},
	}.Combined()
	return k
}

// independent makes columns orthonormal, and leaves those out that the others
// make up.
func independent(columns [][]float64) (out [][]float64) {
	for _, v := range columns {
		size := floats.Norm(v, 2)
		for range 2 {
			for _, q := range out {
				floats.AddScaled(v, -floats.Dot(q, v), q)
			}
		}
		if left := floats.Norm(v, 2); left > leastOwn*size {
			floats.Scale(1/left, v)
			out = append(out, v)
		}
	}
	return out
}

// freedOf returns y without what orthonormal columns make of it.
func freedOf(columns [][]float64, y []float64) []float64 {
	out := append([]float64(nil), y...)
	floats.AddConst(-y[0], out)
	for range 2 {
		for _, q := range columns {
			floats.AddScaled(out, -floats.Dot(q, out), q)
		}
	}
	return out
}

// correlation of two columns; 0 where one of them does not move.
func correlation(x, y []float64) float64 {
	mx, my := mean(x), meanFrom(y)
	var xx, yy, xy float64
	for i := range x {
		a, b := x[i]-mx, y[i]-my
		xx, yy, xy = xx+a*a, yy+b*b, xy+a*b
	}
	if !(xx > 0 && yy > 0) {
		return 0
	}
	return min(max(xy/math.Sqrt(xx*yy), -1), 1)
}

// corrected turns weights of compensated pressures into those of the measured
// ones where the coefficient is learned from these: whatever a reading is
// wrong by moves the coefficient too. moved is by how much the temperature has
// moved the sum.
func (k *learned) corrected(g []float64, moved float64) []float64 {
	out := append([]float64(nil), g...)
	floats.AddScaled(out, -k.share*moved, k.v)
	return out
}

// say adds words of the temperature for a reader.
func (f *fitting) say(format string, a ...any) {
	f.diagnostics.Notes = append(f.diagnostics.Notes, fmt.Sprintf(format, a...))
}

// coefficientSource says in words where the coefficient comes from.
func (f *fitting) coefficientSource() string {
	known := f.in.Known
	switch {
	case f.learned == nil:
		return known.Source
	case known.ThermalCoefficient == nil:
		return "this hold itself: nothing was characterised"
	}
	return fmt.Sprintf("this hold (%.0f %%) and %s", 100*f.learned.share, known.Source)
}

// estimate is the coefficient as used, with where it comes from.
func (k *learned) estimate(source string, known *uncertainty.Estimate) Quantity {
	budget := uncertainty.Budget{{
		Source: SourceLearnedCoefficient, StdUncertainty: k.share * k.u, DegreesOfFreedom: k.dof, Note: source,
	}}
	if known != nil {
		budget = append(budget, uncertainty.Line{
			Source: "characterisation", StdUncertainty: (1 - k.share) * known.StdUncertainty,
			DegreesOfFreedom: known.DegreesOfFreedom, Note: source,
		})
	}
	return estimated(k.used.Value, si.ThermalCoefficient, budget)
}
