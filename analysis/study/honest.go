package study

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// honestCoverage is what a judge's intervals are widened to.
const honestCoverage = 0.95

// honest widens the intervals of judge j by the one factor with which they
// hold the truth about what the limit is on in honestCoverage of all tests,
// and judges by them again.
func honest(cells []Cell, judges []Judge, j int, tallies [][][]Tally) (Judge, [][][]Tally) {
	var off []float64
	for _, bench := range tallies {
		for i, c := range cells {
			for _, k := range bench[i][j].Kept {
				if x := k.off(c.Scene.Quantity); !math.IsNaN(x) {
					off = append(off, x)
				}
			}
		}
	}
	factor := 1.0
	if n := len(off); n > 0 {
		slices.Sort(off)
		factor = off[min(int(math.Ceil(honestCoverage*float64(n))), n)-1]
	}
	out := make([][][]Tally, len(tallies))
	for b, bench := range tallies {
		out[b] = make([][]Tally, len(cells))
		for i, c := range cells {
			var y Tally
			for _, k := range bench[i][j].Kept {
				y.count(k.widened(factor, c.Scene), Trial{DecayRate: k.DecayRate, LeakRate: k.LeakRate}, c.Scene)
			}
			out[b][i] = []Tally{y}
		}
	}
	title := fmt.Sprintf("%s, its intervals widened × %.3g so that they cover %.0f %%", judges[j].Title, factor, 100*honestCoverage)
	return Judge{Name: judges[j].Honest, Title: title}, out
}

// off is the error over half the 95 % interval; NaN where nothing is given.
func (k Kept) off(quantity string) float64 {
	truth := k.DecayRate
	if quantity == "leak_rate" {
		truth = k.LeakRate
	}
	return math.Abs(k.Value-truth) / (uncertainty.T(0.975, k.DOF) * k.U)
}

// widened is the answer with u multiplied by a factor.
func (k Kept) widened(factor float64, s Scene) Answer {
	e := uncertainty.Estimate{Value: k.Value, StdUncertainty: factor * k.U, DegreesOfFreedom: k.DOF}
	d := verdict.Decide(verdict.Limit{Quantity: s.Quantity, Value: s.Limit}, e)
	return Answer{DecayRate: estimated(e), LeakRate: estimated(e), Valid: true, At: 1, Verdict: d.Verdict}
}
