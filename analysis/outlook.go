package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// Outlook is what a hold can be expected to say of one limit.
type Outlook struct {
	Limit verdict.Limit
	// Absent says why the limited quantity will have no estimate; empty where
	// it will have one.
	Absent string
	// Budget of the estimate for a unit exactly at the limit, line by line,
	// and what it comes to, in the quantity's SI unit (1/s for a time
	// constant, which is decided on its reciprocal).
	Budget           uncertainty.Budget
	StdUncertainty   float64
	DegreesOfFreedom float64
	// Factor is how many standard uncertainties a limit must lie from where a
	// unit without loss lies, so that such a unit passes, and one as far
	// beyond the limit fails, but for the stated risks: 3.3 at 0.05 each.
	Factor float64
	// Smallest is the smallest limit on a loss that the hold decides reliably,
	// in the quantity's SI unit; for a pressure the smallest loss from the
	// test pressure, Pa, that may be allowed; for a time constant the smallest
	// 1/τ. +Inf where none is decided.
	Smallest float64
	// Resolves: the limit is not smaller than that, and under the simple rule
	// the expanded uncertainty is small enough to decide.
	Resolves bool

	prospect Prospect
}

// Outlook says what the hold can be expected to say of a limit. ok is false
// for quantities that no hold decides, because they are characterised
// beforehand.
func (p Prospect) Outlook(l verdict.Limit) (o Outlook, ok bool) {
	o = Outlook{Limit: l, prospect: p, StdUncertainty: math.NaN(), DegreesOfFreedom: math.NaN(), Factor: math.NaN(), Smallest: math.Inf(1)}
	if !losesBy(l.Quantity) {
		return o, false
	}
	if o.Absent = p.missing(l.Quantity); o.Absent != "" {
		return o, true
	}
	o.judge()
	o.Smallest = p.expect().smallest(l, o.Factor)
	return o, true
}

// judge fills in what there is to say but for the smallest limit.
func (o *Outlook) judge() {
	l, room := o.Limit, o.prospect.room(o.Limit)
	o.Budget = o.prospect.expect().budget(l, room)
	o.StdUncertainty, o.DegreesOfFreedom = o.Budget.Combined()
	o.Factor = decidingFactor(l, o.DegreesOfFreedom)
	o.Resolves = o.Factor*o.StdUncertainty <= room
	if l.Rule == verdict.Simple {
		o.Resolves = o.Resolves && o.expanded() <= l.LargestU()
	}
}

// expanded is the expanded uncertainty (95 %) of a limit's own quantity.
func (o Outlook) expanded() float64 {
	u := uncertainty.Estimate{StdUncertainty: o.StdUncertainty, DegreesOfFreedom: o.DegreesOfFreedom}.Expanded(0.95)
	if o.Limit.Quantity == quantityTimeConstant {
		return u * o.Limit.Value * o.Limit.Value
	}
	return u
}

// losesBy: what a leak does decides about this quantity.
func losesBy(quantity string) bool {
	switch quantity {
	case quantityDrop, quantityDecayRate, quantityLeakRate, quantityTestPressure, quantityLeakFlow,
		quantityPressureEnd, quantityPressureAfter, quantityTimeConstant:
		return true
	}
	return false
}

// missing says why a quantity will have no estimate.
func (p Prospect) missing(quantity string) string {
	leak := quantity == quantityLeakRate || quantity == quantityTestPressure || quantity == quantityLeakFlow || quantity == quantityTimeConstant
	switch {
	case !(p.Duration > 0):
		return "the hold has no length"
	case quantity != quantityPressureEnd && p.NoTemperature:
		return "no temperature channel: what the liquid's temperature does to the pressure cannot be told"
	case leak && p.Known.Settling == nil && p.Known.Creep == nil:
		return "settling of hoses and seals is not characterised: leak and settling are known only as their sum"
	case quantity == quantityLeakFlow && !(p.Known.Stiffness != nil && p.Known.Stiffness.Value > 0):
		return "the stiffness is not characterised"
	case (quantity == quantityTestPressure || quantity == quantityTimeConstant) && !(p.TestPressure > 0):
		return "the test pressure is not stated"
	}
	return ""
}

// room is how far a limit lies from where a unit without loss lies: a loss in
// its own unit, a pressure's fall from the test pressure in Pa, 1/τ in 1/s.
func (p Prospect) room(l verdict.Limit) float64 {
	switch l.Quantity {
	case quantityPressureEnd, quantityPressureAfter:
		return math.Abs(p.TestPressure - l.Value)
	case quantityTimeConstant:
		return 1 / l.Value
	}
	return math.Abs(l.Value)
}

// at is the expected estimate of a unit whose loss is that many times what the
// limit allows; for a time constant that of 1/τ.
func (o Outlook) at(multiple float64) uncertainty.Estimate {
	p, l := o.prospect, o.Limit
	loss := multiple * p.room(l)
	u, dof := p.expect().budget(l, loss).Combined()
	e := uncertainty.Estimate{Value: loss, StdUncertainty: u, DegreesOfFreedom: dof, Quantity: l.Row().Quantity}
	switch {
	case l.Quantity == quantityTimeConstant:
		e.Quantity = si.Dimensionless
	case l.Quantity == quantityPressureEnd || l.Quantity == quantityPressureAfter:
		e.Value = p.TestPressure + multiple*(l.Value-p.TestPressure)
	case l.Value < 0:
		e.Value = -loss
	}
	return e
}

// Share is what becomes of units with the same true loss.
type Share struct {
	// Multiple of what the limit allows, and the true loss itself: the
	// quantity in SI, 1/τ for a time constant.
	Multiple, Truth          float64
	Pass, Fail, Inconclusive float64
}

// Share returns how often units whose loss is that many times what the limit
// allows PASS, FAIL and are INCONCLUSIVE at the end of the hold: over tests
// and benches whose noise, characterised values and instruments are spread as
// the budget states. A limit that will have no estimate is INCONCLUSIVE.
func (o Outlook) Share(multiple float64) Share {
	s := Share{Multiple: multiple, Truth: math.NaN(), Inconclusive: 1}
	if o.Absent != "" {
		return s
	}
	e := o.at(multiple)
	s.Truth = e.Value
	if o.Limit.Quantity == quantityTimeConstant {
		s.Pass, s.Fail = verdict.ChancesOfReciprocal(o.Limit, e)
	} else {
		s.Pass, s.Fail = verdict.Chances(o.Limit, e)
	}
	s.Inconclusive = max(0, 1-s.Pass-s.Fail)
	return s
}

// budget lists what will make the limited quantity uncertain for a unit with
// that loss, counted as by room; lines of nothing are left out.
func (e expected) budget(l verdict.Limit, loss float64) uncertainty.Budget {
	var lines uncertainty.Budget
	switch l.Quantity {
	case quantityDrop:
		lines = times(e.rate(loss/e.Duration, 1/e.Duration), e.Duration)
	case quantityDecayRate:
		lines = e.rate(loss, 1/e.Duration)
	case quantityLeakRate, quantityTestPressure:
		lines = e.rate(loss, 0)
	case quantityLeakFlow:
		k := *e.Known.Stiffness
		lines = append(times(e.rate(loss*k.Value, 0), 1/k.Value), uncertainty.Line{
			Source: decay.SourceStiffness, StdUncertainty: loss * k.StdUncertainty / k.Value, DegreesOfFreedom: k.DegreesOfFreedom})
	case quantityTimeConstant:
		// 1/τ is the leak rate over the height above the sink in the middle.
		height := e.TestPressure / (1 + loss*e.Duration/2)
		lines = times(e.rate(loss*height, 0), 1/height)
	case quantityPressureEnd:
		lines = e.endPressure(loss / e.Duration)
	case quantityPressureAfter:
		lines = e.pressureAfter(l.After, loss)
	}
	out := lines[:0]
	for _, line := range lines {
		if line.StdUncertainty != 0 {
			out = append(out, line)
		}
	}
	return out
}

// rate is the budget of a loss rate, Pa/s; counted is 1/duration where
// settling counts, 0 for a leak alone.
func (e expected) rate(rate, counted float64) uncertainty.Budget {
	g := scaled(e.slope, -1)
	return append(e.doubts(g, rate), e.settlingDoubts(g, counted, e.Duration)...)
}

// endShare is the share of a hold's readings that its end pressure is read
// from, by a line through them.
const endShare = 10

// endPressure is the budget of the measured pressure at the hold's end, where
// nothing is compensated.
func (e expected) endPressure(rate float64) uncertainty.Budget {
	alone := e
	alone.NoTemperature = true
	g := make([]float64, gridPoints)
	n := gridPoints / endShare
	for i := gridPoints - n; i < gridPoints; i++ {
		x := (float64(i-(gridPoints-n)) + 0.5) / float64(n)
		g[i] = (1 + 6*(x-0.5)) / float64(n) // value at the end of a line through n readings
	}
	return alone.doubts(g, rate)
}

// pressureAfter is the budget of the pressure predicted a time after t0.
func (e expected) pressureAfter(after, loss float64) uncertainty.Budget {
	rate := 0.0
	if after > 0 {
		rate = loss / after
	}
	g := e.at(after)
	return append(e.doubts(g, rate), e.settlingDoubts(g, -1, after)...)
}

// times multiplies a budget by a constant that is exactly known.
func times(b uncertainty.Budget, k float64) uncertainty.Budget {
	out := append(uncertainty.Budget(nil), b...)
	for i := range out {
		out[i].StdUncertainty *= math.Abs(k)
	}
	return out
}

// smallest is the smallest loss s with s ≥ factor·u(s). Gain and stiffness
// make u grow with the loss itself; beyond what they allow nothing is decided.
func (e expected) smallest(l verdict.Limit, factor float64) float64 {
	need := func(loss float64) float64 {
		u, _ := e.budget(l, loss).Combined()
		return factor * u
	}
	s, step := need(0), math.Inf(1)
	for {
		next := need(s)
		switch {
		case next-s <= 1e-9*next:
			return next
		case !(next-s < step):
			return math.Inf(1)
		}
		s, step = next, next-s
	}
}

// simpleRisk is what reliably means under the simple rule, which states no risk.
const simpleRisk = 0.05

// decidingFactor is Factor of Outlook, rounded to a tenth as usual.
//
// Source: 1.645 on either side of the limit are about 3.3 (mark P).
func decidingFactor(l verdict.Limit, dof float64) float64 {
	pass, fail := l.Risks()
	if l.Rule == verdict.Simple {
		pass, fail = simpleRisk, simpleRisk
	}
	return math.Round(10*(uncertainty.T(1-pass, dof)+uncertainty.T(1-fail, dof))) / 10
}

// Assumed names what the budget takes a stand-in for, because it is not
// characterised: "thermal coefficient", "lag".
func (o Outlook) Assumed() (out []string) {
	p := o.prospect
	if p.NoTemperature || o.Limit.Quantity == quantityPressureEnd {
		return nil
	}
	if p.Known.ThermalCoefficient == nil {
		out = append(out, decay.SourceThermalCoefficient)
	}
	if p.Known.Lag == nil {
		out = append(out, decay.SourceLag)
	}
	return out
}

// Decides reports whether there are limits on the quantity that the hold decides
// reliably.
func (o Outlook) Decides() bool { return !math.IsInf(o.Smallest, 1) && !math.IsNaN(o.Smallest) }

// SmallestInWords says which limit the hold decides reliably, in those units,
// e.g. "at least 0.083 bar/min".
func (o Outlook) SmallestInWords(d si.Display) string {
	fine := func(x float64, q si.Quantity) string { return fineIn(d, x, q) }
	switch {
	case !o.Decides():
		return "other instruments or another characterisation: no limit on it is one"
	case o.Limit.Quantity == quantityTimeConstant:
		return "at most " + fine(1/o.Smallest, si.Time)
	case o.Limit.Quantity == quantityPressureEnd || o.Limit.Quantity == quantityPressureAfter:
		return fmt.Sprintf("at most %s, %s below the test pressure", fine(o.prospect.TestPressure-o.Smallest, si.Pressure), fine(o.Smallest, si.PressureChange))
	}
	return "at least " + fine(o.Smallest, o.Limit.Row().Quantity)
}
