package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/fit"
	"holdbench/analysis/uncertainty"
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
	if f.in.Temperature.Len() == 0 && len(f.in.MoreProbes) == 0 {
		f.noTemp = "no temperature channel: what the liquid's temperature did to the pressure cannot be told"
		return
	}
	probes, why := f.probes()
	if len(probes) == 0 {
		f.noTemp = why
		return
	}
	if f.o.ExactTemperature && probes[0].inside.Len() > 0 {
		f.liquid = asGiven(probes[0].inside, f.instants(), f.in.Start)
	} else if f.noTemp = f.reduce(probes); f.noTemp != "" {
		return
	}
	d := &f.diagnostics
	d.TimeTemperature, d.VIF = correlation(f.t, f.liquid.at), math.Inf(1)
	if apart := 1 - d.TimeTemperature*d.TimeTemperature; apart > inOneLine {
		d.VIF = 1 / apart
	}
	f.takeWarming()
	f.learn()
	f.diagnostics.LearnedCoefficient, f.diagnostics.CoefficientSource = f.learned != nil, f.coefficientSource()
}

// reduce makes the liquid out of the probes; it returns why it cannot.
func (f *fitting) reduce(probes []probe) string {
	curves := make([]*smooth, len(probes))
	bends := false
	for i, p := range probes {
		s, err := smoothed(p.inside, f.in.Start, f.in.End, p.Resolution)
		if err != nil {
			return err.Error()
		}
		curves[i], bends = s, bends || s.bends() || turns(p, f.in.Start)
	}
	f.lag = f.lagFor(bends)
	f.follows = f.ownTimeFor(f.lag.Value)
	for i, p := range probes {
		if f.lag.Value < 0 {
			curves[i].localOf(p.inside)
		}
	}
	t := f.instants()
	at := func(lag, own float64) (all []*liquid) {
		for i, p := range probes {
			all = append(all, curves[i].carried(lag, own, p.before, t, f.in.Start))
		}
		return all
	}
	lag, o := f.lag.Value, &f.follows
	f.single = at(lag, o.value)
	f.liquid = together(f.single)
	if u, with := f.lag.StdUncertainty, o.withLag(); u > 0 || with > 0 {
		f.lower = together(at(lag-lagReach*u, max(o.value-lagReach*with, 0)))
		f.upper = together(at(lag+lagReach*u, o.value+lagReach*with))
	}
	if o.step > 0 {
		o.less, o.more = together(at(lag, o.value-o.step)), together(at(lag, o.value+o.step))
	}
	f.thermometer(probes)
	return ""
}

// turns reports whether the probe's reading went otherwise just before t0 than
// just after it: a lag then matters though the hold itself shows a ramp.
func turns(p probe, start float64) bool {
	const reach = 4 * unknownLag
	a, b := p.before.Window(start-reach, start), p.inside.Window(start, start+reach)
	if a.Len() < fewestReadings || b.Len() < fewestReadings {
		return false
	}
	before, err := fit.Line(a.Time, a.Value)
	if err != nil {
		return false
	}
	after, err := fit.Line(b.Time, b.Value)
	if err != nil {
		return false
	}
	u := math.Sqrt(before.Covariance.At(1, 1) + after.Covariance.At(1, 1))
	return math.Abs(after.Coefficients[1]-before.Coefficients[1]) > 4*u
}

// thermometer puts what the probes' own figures say of their mean in the
// place of the first one's: they are of a kind, and wrong together.
func (f *fitting) thermometer(probes []probe) {
	var drift, gain float64
	var shares []Share
	for _, p := range probes {
		shares = append(shares, scaled(p.Shares, 1/float64(len(probes)))...)
		drift += p.Drift / float64(len(probes))
		gain += p.Gain / float64(len(probes))
	}
	f.in.Thermometer.Drift, f.in.Thermometer.Gain, f.in.Thermometer.Shares = drift, gain, shares
}

// inOneLine is 1 − r² of time and temperature below which they are in step but
// for rounding.
const inOneLine = 1e-9

// lagReach is by how many standard uncertainties the lag is moved to see what
// its doubt does: with weights 1/6, 2/3, 1/6 the three points have the first
// five moments of a normal distribution.
//
// Source: Gauss–Hermite quadrature of three points (mark M).
var lagReach = math.Sqrt(3)

// byLag is the doubt that the lag's leaves in a sum that answers as r, K: the
// root mean square over the three points.
func (f *fitting) byLag(r response) float64 {
	if f.upper == nil {
		return 0
	}
	return math.Sqrt((square(r.upper-r.liquid) + square(r.lower-r.liquid)) / 6)
}

// alongLag is the part of it that goes with the lag, with its sign.
func (r response) alongLag() float64 { return (r.upper - r.lower) / (2 * lagReach) }

// temperaturePretence is the mean square of what temperature may be wrong by,
// one standard uncertainty each, as far as the law cannot follow it, Pa².
func (f *fitting) temperaturePretence(l *law) float64 {
	s, q := f.sensitivity(), f.liquid
	n := float64(len(f.t))
	y := make([]float64, len(f.t))
	freed := func(u float64, curve func(i int) float64) float64 {
		if u == 0 {
			return 0
		}
		for i := range y {
			y[i] = u * curve(i)
		}
		l.free(y)
		return floats.Dot(y, y) / n
	}
	fixed, free := q.doubtBeside(independent(copied(l.slopes)))
	sum := s * s * (fixed + free) / n
	if q.startDoubt > 0 {
		sum += freed(s*q.startDoubt, func(i int) float64 { return q.fades[i] - 1 })
	}
	sum += freed(math.Hypot(f.coefficient().StdUncertainty, s*f.in.Thermometer.AllGain()), func(i int) float64 { return q.at[i] - q.start })
	if f.upper != nil {
		sum += freed(s/(2*lagReach), func(i int) float64 { return f.upper.at[i] - f.upper.start - f.lower.at[i] + f.lower.start })
	}
	if w := f.warmed; w != nil {
		sum += freed(s/2, func(i int) float64 { return w.curves[2][i] - w.curves[1][i] })
		sum += freed(s/2, func(i int) float64 { return w.curves[4][i] - w.curves[3][i] })
	}
	if own := f.follows.shape(); own != nil {
		sum += freed(s, func(i int) float64 { return own[i] })
	}
	if len(f.single) > 1 {
		first, last := f.single[0], f.single[len(f.single)-1]
		sum += freed(s/math.Sqrt(12), func(i int) float64 { return first.at[i] - first.start - last.at[i] + last.start })
	}
	return sum
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
func (f *fitting) lagFor(bends bool) uncertainty.Estimate {
	if f.in.Known.Lag != nil {
		return *f.in.Known.Lag
	}
	none := uncertainty.Estimate{DegreesOfFreedom: math.Inf(1)}
	if bends {
		none.StdUncertainty = unknownLag
	}
	return none
}

// coefficient is B as used: held, or with what the hold itself says of it.
func (f *fitting) coefficient() uncertainty.Estimate {
	if f.learned != nil {
		return f.learned.used
	}
	return f.heldCoefficient()
}

// heldCoefficient is B as characterised; where it is not 0, with the bound as its
// uncertainty.
func (f *fitting) heldCoefficient() uncertainty.Estimate {
	if f.in.Known.ThermalCoefficient == nil {
		return uncertainty.Estimate{StdUncertainty: UnknownThermalCoefficient, DegreesOfFreedom: math.Inf(1)}
	}
	return *f.in.Known.ThermalCoefficient
}

// sensitivity is by how much an error of temperature counts, Pa/K.
func (f *fitting) sensitivity() float64 {
	if f.in.Known.ThermalCoefficient == nil && f.learned == nil {
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
