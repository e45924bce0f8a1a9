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

// lockReadings is from how many readings the pressure at lock is taken.
const lockReadings = 11

// lostBefore makes FAIL of a hold that may not be judged because the unit
// had lost its pressure before it began: locked inside the start window, and
// below it at t0 by more than temperature explains (99 %). It needs a
// procedure that limits a loss, a start window, the instant of locking and a
// thermometer.
func (a *Assessment) lostBefore(h Hold, fitted decay.Result) {
	atLock, ok := pressureAtLock(h)
	if !ok || !limitsLoss(h.Limits) {
		return
	}
	start := fitted.StartPressure
	explained, ok := temperatureExplains(h, atLock)
	if !ok || !(start.Value+noiseAt(start)+explained < h.StartLow) {
		return
	}
	a.Verdict = verdict.Fail
	for i, d := range a.Decisions {
		if isLoss(d.Limit) {
			a.Decisions[i].Verdict, a.Decisions[i].Reason = verdict.Fail, ReasonLostBefore
		}
	}
	detail := fmt.Sprintf("%s at lock, %s when the hold began; temperature explains at most %s",
		shown(atLock, si.Pressure), shown(start.Value, si.Pressure), shown(explained, si.PressureChange))
	a.Reasons = append([]string{ReasonLostBefore, detail}, a.Reasons...)
}

// pressureAtLock returns the median of the first readings after locking, and
// whether it lies inside the start window.
func pressureAtLock(h Hold) (float64, bool) {
	if !(h.Locked < h.Start) || math.IsNaN(h.StartLow) {
		return 0, false
	}
	readings := h.Trapped.Window(h.Locked, h.Start).Valid().Value
	if len(readings) == 0 {
		return 0, false
	}
	first := slices.Clone(readings[:min(lockReadings, len(readings))])
	slices.Sort(first)
	p := first[len(first)/2]
	return p, p >= h.StartLow && !(p > h.StartHigh)
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
