package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// Reasons that are always worded the same.
const (
	ReasonStillSettling = "still settling"
	ReasonSettlingOnly  = "settling; no leak seen"
	ReasonLostBefore    = "pressure lost before the hold"
	ReasonNoHold        = "no hold began"
	ReasonNotCompleted  = "the hold was not completed"
	ReasonNotJudged     = "the hold may not be judged"
	ReasonNoLimit       = "no limit is stated"
	ReasonNoCoefficient = "the thermal coefficient is not characterised: nothing was compensated, and what temperature may have done is in the uncertainty"
)

// Names of verdict.Quantities that judgement treats on their own.
const (
	quantityDrop          = "drop"
	quantityDecayRate     = "decay_rate"
	quantityLeakRate      = "leak_rate"
	quantityTestPressure  = "leak_rate_at_test_pressure"
	quantityLeakFlow      = "leak_flow"
	quantityPressureEnd   = "pressure_end"
	quantityPressureAfter = "pressure_after"
	quantityTimeConstant  = "time_constant"
)

// leakSeenRisk is the chance of calling a leak seen where there is none.
const leakSeenRisk = 0.05

// Assess judges one hold: it fits the decay, sees whether the hold may be
// judged at all, holds the estimates against the limits, and says why. It
// always answers; what cannot be said is INCONCLUSIVE with reasons and with
// what would settle it.
//
// A hold with Looks is judged at each of them in turn, by the readings up to
// it; the Assessment is that of the last.
func Assess(h Hold) Assessment {
	if h.Looks != nil && len(h.Looks.Taken) > 0 && h.End > h.Start {
		return new(Watch).Assess(h)
	}
	return h.assess(nil)
}

// assess judges a hold, by the boundaries of looks where there are any.
func (h Hold) assess(looks *looking) Assessment {
	fitted := decay.Fit(h.input(), h.options())
	a := Assessment{
		Circuit: h.Circuit, Completed: h.Completed, Start: h.Start, End: h.End,
		Estimates: fitted.Estimates, Curves: fitted.Curves, Diagnostics: fitted.Diagnostics,
	}
	a.Estimates[quantityOtherRise] = h.otherRise()
	if !(h.End > h.Start) {
		return a.unjudged(h, []finding{{reason: ReasonNoHold}})
	}
	a.countReadings(h)
	invalid, notes := gate(h, fitted, &a)
	if len(invalid) > 0 {
		looks.skip(invalid[0].reason)
		a = a.unjudged(h, invalid)
		a.lostBefore(h)
		a.note(notes)
		return a
	}
	a.Valid = true
	a.decide(h, fitted, looks)
	a.note(notes)
	return a
}

func (h Hold) input() decay.Input {
	return decay.Input{
		Start: h.Start, End: h.End, Locked: h.Locked,
		Pressure: h.Trapped, Temperature: h.Temperature, MoreProbes: h.MoreProbes,
		Transducer: h.Transducer, Thermometer: h.Thermometer, Known: h.Characterised,
		TestPressure: h.TestPressure, Sink: h.Sink,
		Ambient: h.Ambient, Zeros: h.Zeros, Segments: h.Segments,
	}
}

func (h Hold) options() decay.Options {
	o := decay.Options{ExactTemperature: h.ExactTemperature}
	for _, l := range h.Limits {
		if l.Quantity == quantityPressureAfter {
			o.After = append(o.After, l.After)
		}
	}
	return o
}

// unjudged makes an INCONCLUSIVE for what the gate found.
func (a Assessment) unjudged(h Hold, invalid []finding) Assessment {
	a.Verdict, a.Valid = verdict.Inconclusive, false
	for _, f := range invalid {
		a.Reasons = append(a.Reasons, f.reason)
		a.advise(f.advice)
	}
	for _, l := range h.Limits {
		a.Decisions = append(a.Decisions, verdict.Undecided(l, ReasonNotJudged))
	}
	return a
}

// decide holds each limit against its estimate.
func (a *Assessment) decide(h Hold, fitted decay.Result, looks *looking) {
	estimates := limited(h.Limits, fitted)
	looks.take(a, estimates)
	var all []verdict.Verdict
	for i, l := range h.Limits {
		d := looks.decide(i, l, estimates[i], fitted)
		a.Decisions = append(a.Decisions, d)
		all = append(all, d.Verdict)
	}
	a.Verdict = verdict.Overall(all...)
	a.explain(h, estimates)
}

// limited returns what each limit is about.
func limited(limits []verdict.Limit, fitted decay.Result) []Quantity {
	var out []Quantity
	after := 0
	for _, l := range limits {
		e := fitted.Estimates[l.Quantity]
		if l.Quantity == quantityPressureAfter {
			e = fitted.After[after]
			after++
		}
		out = append(out, e)
	}
	return out
}

func decideOne(l verdict.Limit, e Quantity, fitted decay.Result) verdict.Decision {
	if _, ok := verdict.Lookup(l.Quantity); !ok {
		return verdict.Undecided(l, fmt.Sprintf("unknown quantity %q", l.Quantity))
	}
	if e.Reciprocal != nil {
		return verdict.DecideReciprocal(l, e.Reciprocal.Estimate)
	}
	if e.Absent != "" {
		return verdict.Undecided(l, fmt.Sprintf("%s: %s", l.Title(), e.Absent))
	}
	d := verdict.Decide(l, e.Estimate)
	if d.Verdict == verdict.Fail && countsSettling(l) && noLeakSeen(fitted.Estimates[quantityLeakRate]) {
		d.Reason = ReasonSettlingOnly
	}
	return d
}

// countsSettling: a limit on these is broken by settling too.
func countsSettling(l verdict.Limit) bool {
	return l.Quantity == quantityDrop || l.Quantity == quantityDecayRate
}

// noLeakSeen is true where the leak rate is known and not clearly above 0.
func noLeakSeen(leak Quantity) bool {
	if leak.Absent != "" {
		return false
	}
	t := uncertainty.T(1-leakSeenRisk, leak.DegreesOfFreedom)
	return leak.Value-t*leak.StdUncertainty <= 0
}

// explain gives reasons, FAIL before INCONCLUSIVE, and advice.
func (a *Assessment) explain(h Hold, estimates []Quantity) {
	for i, d := range a.Decisions {
		if d.Verdict == verdict.Fail {
			a.reason(d.Reason)
			a.reason(fmt.Sprintf("%s %s breaks the limit of %s", d.Limit.Title(), inWords(estimates[i]), d.Limit.Text()))
		}
	}
	for i, d := range a.Decisions {
		if d.Verdict == verdict.Inconclusive {
			a.reason(d.Reason)
			a.advise(settle(h, d.Limit, estimates[i], a.Diagnostics))
		}
	}
	if len(h.Limits) == 0 {
		a.reason(ReasonNoLimit)
		a.advise("state a limit")
	}
	if a.Diagnostics.StillSettling {
		a.reason(ReasonStillSettling)
	}
	if a.Verdict == verdict.Inconclusive {
		a.reason(a.Diagnostics.InStep)
		a.reason(a.Diagnostics.Warmth)
	}
}

// inWords is an estimate with its expanded uncertainty; one with a reciprocal,
// whose interval is lopsided, with that interval.
func inWords(e Quantity) string {
	if e.Reciprocal == nil {
		return withExpanded(e) + " (95 %)"
	}
	low, high := e.Interval(0.95)
	if math.IsInf(high, 1) {
		return fmt.Sprintf("of at least %s (95 %%)", fine(low, e.Quantity))
	}
	return fmt.Sprintf("of %s to %s (95 %%)", fine(low, e.Quantity), fine(high, e.Quantity))
}

// reason adds a reason that is not there yet; an empty one adds nothing.
func (a *Assessment) reason(text string) { a.Reasons = appendNew(a.Reasons, text) }

// advise likewise adds advice.
func (a *Assessment) advise(text string) { a.Advice = appendNew(a.Advice, text) }

func (a *Assessment) note(notes []string) {
	for _, n := range notes {
		a.reason(n)
	}
}

func appendNew(all []string, text string) []string {
	if text == "" {
		return all
	}
	for _, have := range all {
		if have == text {
			return all
		}
	}
	return append(all, text)
}
