package study

import (
	"math"

	"holdbench/analysis"
	"holdbench/analysis/verdict"
)

// Rate counts how the estimates of one quantity went.
type Rate struct {
	// Given is the number of estimates, Covered that of 95 % intervals that
	// hold the truth.
	Given, Covered int
	// Sum and Squares of the errors, and U the sum of the standard
	// uncertainties, in limits.
	Sum, Squares, U float64
}

func (r *Rate) count(e analysis.Quantity, truth, limit float64) {
	if math.IsNaN(e.Value) {
		return
	}
	wrong := (e.Value - truth) / limit
	r.Given++
	r.Sum += wrong
	r.Squares += wrong * wrong
	if !math.IsNaN(e.StdUncertainty) {
		r.U += e.StdUncertainty / limit
	}
	if low, high := e.Interval(0.95); low <= truth && truth <= high {
		r.Covered++
	}
}

func (r *Rate) add(o Rate) {
	r.Given += o.Given
	r.Covered += o.Covered
	r.Sum += o.Sum
	r.Squares += o.Squares
	r.U += o.U
}

// Tally counts what one judge said of one bench's tests in one cell.
type Tally struct {
	Tests, Invalid int
	Decay, Leak    Rate
	Passed, Failed int
	Good           int // tests whose truth is within the limit
	FailedGood     int
	PassedLeaking  int
	Far            int // tests at 1.5 limits and more, or half a limit and less
	Forbidden      int // PASS at the former, FAIL at the latter
	TimeToDecision float64
	// Kept are the answers of a judge that is to be made honest.
	Kept []Kept
}

// Kept is what an honest judge is made from: an estimate, SI, and the truth of
// both rates, Pa/s.
type Kept struct{ Value, U, DOF, DecayRate, LeakRate float64 }

// Forbidden answers are PASS at 1.5 limits and more and FAIL at half a limit
// and less: in the cells of such leaks, whose truth lies a little beside.
const (
	farAbove = 1.4
	farBelow = 0.6
)

func (y *Tally) count(a Answer, t Trial, s Scene) {
	y.Tests++
	if !a.Valid {
		y.Invalid++
		a.Verdict = verdict.Inconclusive
	} else {
		decay, leak := t.DecayRate, t.LeakRate
		if a.At < 1 && t.Until != nil {
			decay, leak = t.Until(a.At)
		}
		y.Decay.count(a.DecayRate, decay, s.Limit)
		y.Leak.count(a.LeakRate, leak, s.Limit)
	}
	truth := t.True(s.Quantity) / s.Limit
	good := truth <= 1
	if good {
		y.Good++
	}
	if truth >= farAbove || truth <= farBelow {
		y.Far++
	}
	switch a.Verdict {
	case verdict.Pass:
		y.Passed++
		if !good {
			y.PassedLeaking++
		}
		if truth >= farAbove {
			y.Forbidden++
		}
	case verdict.Fail:
		y.Failed++
		if good {
			y.FailedGood++
		}
		if truth <= farBelow {
			y.Forbidden++
		}
	}
	y.TimeToDecision += a.At
}

func (y *Tally) add(o Tally) {
	y.Tests += o.Tests
	y.Invalid += o.Invalid
	y.Decay.add(o.Decay)
	y.Leak.add(o.Leak)
	y.Passed += o.Passed
	y.Failed += o.Failed
	y.Good += o.Good
	y.FailedGood += o.FailedGood
	y.PassedLeaking += o.PassedLeaking
	y.Far += o.Far
	y.Forbidden += o.Forbidden
	y.TimeToDecision += o.TimeToDecision
	y.Kept = append(y.Kept, o.Kept...)
}

// Bench tries one bench in all cells, tests times each, before all judges.
// The answer is by cell, then by judge.
func Bench(cells []Cell, judges []Judge, simulate Simulate, bench, tests int) [][]Tally {
	out := make([][]Tally, len(cells))
	for i, c := range cells {
		out[i] = make([]Tally, len(judges))
		for test := range tests {
			t := simulate(c, bench, test)
			for j, judge := range judges {
				if judge.Tests > 0 && test >= judge.Tests {
					continue
				}
				a := judge.Judge(t.Hold)
				out[i][j].count(a, t, c.Scene)
				if judge.Honest != "" {
					e := a.DecayRate
					out[i][j].Kept = append(out[i][j].Kept, Kept{e.Value, e.StdUncertainty, e.DegreesOfFreedom, t.DecayRate, t.LeakRate})
				}
			}
		}
	}
	return out
}
