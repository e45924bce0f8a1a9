package challenge

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Proportion is the share of trials that came out one way, with exact one-sided bounds.
type Proportion struct {
	Events, Trials int
	// Low and High are each the one-sided 95 % bound of the true proportion:
	// 0 where nothing, and 1 where everything, came out so; NaN without a
	// trial.
	Low, High float64
}

// ProportionOf returns events out of trials with their bounds. It panics
// unless 0 ≤ events ≤ trials.
func ProportionOf(events, trials int) Proportion {
	if events < 0 || events > trials {
		panic("challenge: more events than trials, or fewer than none")
	}
	return Proportion{events, trials, LowerBound(events, trials, 0.95), UpperBound(events, trials, 0.95)}
}

// UpperBound returns the exact one-sided upper bound of a proportion of which
// events of trials were seen: with it, events or fewer would be seen with
// chance 1 − confidence. 1 where all trials are events; NaN without trials.
//
// Source: [3]; for no event 1 − (1−confidence)^(1/trials).
func UpperBound(events, trials int, confidence float64) float64 {
	if trials <= 0 || events < 0 || events > trials || !(confidence > 0 && confidence < 1) {
		return math.NaN()
	}
	if events == trials {
		return 1
	}
	return mathext.InvRegIncBeta(float64(events+1), float64(trials-events), confidence)
}

// LowerBound is the bound on the other side; 0 where no trial is an event.
func LowerBound(events, trials int, confidence float64) float64 {
	return 1 - UpperBound(trials-events, trials, confidence)
}
