// Package study knows how good a judge of holds is: it gives simulated tests
// of simulated benches to judges, who do not know the truth, and counts how
// far they are off, how often their intervals hold the truth and how often
// they give a wrong verdict. It makes no hold itself and knows no physics: it
// is given a function that yields one simulated hold with its truth.
//
// Benches are what is simulated, not just tests: a bench keeps its true
// thermal coefficient, lag, gain and so on in all its tests, so that tests of
// one bench go wrong together. Standard errors are therefore those of the
// benches' means.
//
// It starts no goroutines: a bench's tests are tried by Bench, in any order
// of benches, and Summarise adds them up in a fixed one, so that the answer is
// the same on any number of cores.
//
// Sources:
//
//	[1] Cochran, W. G., Sampling Techniques, 3rd ed., Wiley 1977, 9.3 and
//	    6.4: clusters, and the standard error of a ratio (mark M).
package study

import (
	"math"

	"holdbench/analysis"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// Scene is one circumstance in which all leaks are tried.
type Scene struct {
	// Name is one word, Title a few, and Group joins scenes that differ in the
	// same thing.
	Name, Title, Group string
	// Quantity is what the limit is on, "decay_rate" or "leak_rate"; Limit is
	// the largest allowed value, Pa/s.
	Quantity string
	Limit    float64
	// Tellable is false where temperature cannot be told apart from a leak;
	// Tight is true where the limit is at least eight times the rate that the
	// full hold detects.
	Tellable, Tight bool
}

// Cell is a leak in a scene: what the limit is on truly is about Leak times
// the limit.
type Cell struct {
	Scene Scene
	Leak  float64
}

// Leaks are those of the published study, in limits.
var Leaks = []float64{0, 0.25, 0.5, 0.9, 1.1, 1.5, 2}

// Trial is one simulated hold and what an ideal observer knows of it.
type Trial struct {
	// Hold as a judge sees it, with the limit that is to be decided as its
	// first.
	Hold analysis.Hold
	// DecayRate and LeakRate are the true mean rates of loss over the hold,
	// with and without settling, Pa/s.
	DecayRate, LeakRate float64
	// Until gives the same over the first share (0–1) of the hold, for
	// estimates of a hold that ended early; nil: as over the whole hold.
	Until func(share float64) (decay, leak float64)
}

// True is the truth about the quantity that the limit is on.
func (t Trial) True(quantity string) float64 {
	if quantity == "leak_rate" {
		return t.LeakRate
	}
	return t.DecayRate
}

// Simulate yields one test of one bench in a cell. The same arguments must
// give the same trial.
type Simulate func(c Cell, bench, test int) Trial

// Answer is what a judge says of a hold.
type Answer struct {
	// DecayRate and LeakRate with their uncertainty, Pa/s; a NaN value where
	// the judge gives none.
	DecayRate, LeakRate analysis.Quantity
	Verdict             verdict.Verdict
	// Valid is false where the judge says that the hold may not be judged.
	Valid bool
	// At is when the verdict stood, as a share of the hold: 1 at its end.
	At float64
}

// Judge is a way of judging holds.
type Judge struct {
	// Name is one word, Title a few.
	Name, Title string
	Judge       func(h analysis.Hold) Answer
	// Tests is how many of a bench's tests in a cell are judged, the first
	// ones; 0: all of them.
	Tests int
	// Honest, if not empty, names one more judge: this one with its intervals
	// widened by the one factor with which they hold the truth in 95 % of all
	// tests of the study.
	Honest string
}

// none is an estimate that is not given.
func none() analysis.Quantity {
	return estimated(uncertainty.Estimate{Value: math.NaN(), StdUncertainty: math.NaN(), DegreesOfFreedom: math.NaN()})
}

func estimated(e uncertainty.Estimate) analysis.Quantity { return analysis.Quantity{Estimate: e} }
