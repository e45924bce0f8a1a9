package analysis

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// adiabaticRise is by how much a liquid warms per pascal when it is pumped up
// quickly, K/Pa; it then cools back to its surroundings where no probe sees
// it. T·α/(ρ·c_p) for mineral oil at
// 313.15 K, α 7e-4/K, ρ 870 kg/m³, c_p 1900 J/(kg·K): 1.326 K for 10 MPa.
//
// Source: thermodynamic identity (mark C), oil's figures from memory (mark M).
const adiabaticRise = 1.326 / 10e6

const (
	// lockReach is for how long before Locked a reading still counts for where
	// the circuit was locked, s: Locked is the end of the phase lock, and a
	// gross leaker may be out of its window by then.
	lockReach = 5.0
	// peakSigmas is what noise may add to the highest of many readings, in
	// standard deviations of one.
	peakSigmas = 3
)

// lostBefore makes FAIL of a hold that may not be judged because the unit
// had lost its pressure before it began: locked inside the start window, below
// it at t0, and fallen since lock, less noise, by more than temperature and a
// characterised settling explain (99 %). Settling that is not characterised
// explains nothing. It needs a procedure that limits a loss, a start window,
// the instant of locking and a thermometer.
func (a *Assessment) lostBefore(h Hold) {
	start, ok := startLevel(h)
	if !ok || !limitsLoss(h.Limits) || !(start.value+start.doubt < h.StartLow) {
		return
	}
	inside, highest, ok := sinceLock(h)
	if !ok {
		return
	}
	explained, ok := temperatureExplains(h, max(inside, highest))
	what := "temperature explains"
	if s := h.Characterised.Settling; s != nil {
		explained += max(0, s.Amplitude.Value+uncertainty.T(signLevel, math.Inf(1))*s.Amplitude.StdUncertainty)
		what = "temperature and settling explain"
	}
	fall := highest - start.value - start.doubt - peakSigmas*start.sigma
	if !ok || !(fall > explained) {
		return
	}
	a.Verdict = verdict.Fail
	for i, d := range a.Decisions {
		if isLoss(d.Limit) {
			a.Decisions[i].Verdict, a.Decisions[i].Reason = verdict.Fail, ReasonLostBefore
		}
	}
	detail := fmt.Sprintf("%s at lock, %s when the hold began; %s at most %s",
		shown(inside, si.Pressure), shown(start.value, si.Pressure), what, shown(explained, si.PressureChange))
	a.Reasons = append([]string{ReasonLostBefore, detail}, a.Reasons...)
}

// sinceLock returns the highest pressure inside the start window at which the
// circuit stood about lock or since, and the highest since lock; false where
// it was never inside. Each is a median of three neighbouring readings, which
// no single spike moves and which a fall of any speed leaves where it was
// just before. The readings of lockReach before Locked, two at least, count
// for the first, not for the second: the fall must be seen after lock.
func sinceLock(h Hold) (inside, highest float64, ok bool) {
	inside, highest = math.Inf(-1), math.Inf(-1)
	if !(h.Locked < h.Start) || math.IsNaN(h.StartLow) {
		return inside, highest, false
	}
	reach := max(lockReach, 2*h.TrappedInterval)
	c := h.Trapped.Window(h.Locked-reach, h.Start).Valid()
	for i := 1; i+1 < c.Len(); i++ {
		p := medianOf3(c.Value[i-1], c.Value[i], c.Value[i+1])
		if p >= h.StartLow && !(p > h.StartHigh) {
			inside = max(inside, p)
		}
		if c.Time[i] >= h.Locked {
			highest = max(highest, p)
		}
	}
	return inside, highest, inside >= h.StartLow
}

// temperatureExplains returns the largest fall of pressure (99 %) between
// lock and t0 that temperature can explain: the thermal coefficient times the
// probe's range, as far as lag can have hidden it, and the liquid's cooling
// after it was pumped up.
func temperatureExplains(h Hold, atLock float64) (float64, bool) {
	reach := 0.0
	if lag := h.Characterised.Lag; lag != nil {
		reach = 3 * math.Abs(lag.Value)
	}
	probe, _, _ := decay.WithoutSpikes(h.Temperature.Window(h.Locked-reach, h.Start+reach))
	if probe.Len() == 0 {
		return 0, false
	}
	k := uncertainty.T(signLevel, math.Inf(1))
	largest := decay.UnknownThermalCoefficient
	if b := h.Characterised.ThermalCoefficient; b != nil {
		largest = math.Abs(b.Value) + k*b.StdUncertainty
	}
	change := slices.Max(probe.Value) - slices.Min(probe.Value) + h.Thermometer.Resolution
	return largest * (change + adiabaticRise*math.Max(atLock, 0)), true
}

// limitsLoss reports whether any limit limits a loss.
func limitsLoss(limits []verdict.Limit) bool { return slices.ContainsFunc(limits, isLoss) }

func isLoss(l verdict.Limit) bool {
	switch l.Quantity {
	case quantityDrop, quantityDecayRate, quantityLeakRate, quantityTestPressure, quantityLeakFlow:
		return l.Bound == verdict.Max
	case quantityPressureEnd, quantityPressureAfter, quantityTimeConstant:
		return l.Bound == verdict.Min
	}
	return false
}
