package study

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

var plain = Scene{Name: "plain", Title: "plain", Quantity: "decay_rate", Limit: 1, Tellable: true}

// known yields trials whose truth is the cell's leak and whose only reading
// is an estimate of it, off by what the bench and the test are off.
func known(byBench, byTest float64) Simulate {
	return func(c Cell, bench, test int) Trial {
		of := func(a, b uint64) float64 { return rand.New(rand.NewPCG(a, b)).NormFloat64() }
		wrong := byBench*of(uint64(bench), 1) + byTest*of(uint64(bench), uint64(10+test)+1000*math.Float64bits(c.Leak))
		h := analysis.Hold{Start: c.Leak + wrong, Limits: []verdict.Limit{{Quantity: "decay_rate", Value: c.Scene.Limit}}}
		return Trial{Hold: h, DecayRate: c.Leak, LeakRate: c.Leak}
	}
}

// saying is a judge that reads the estimate and claims that uncertainty.
func saying(u float64) Judge {
	return Judge{Name: "saying", Title: "saying", Judge: func(h analysis.Hold) Answer {
		e := uncertainty.Estimate{Value: h.Start, StdUncertainty: u, DegreesOfFreedom: math.Inf(1)}
		return Answer{
			DecayRate: estimated(e), LeakRate: none(), Valid: true, At: 0.5,
			Verdict: verdict.Decide(h.Limits[0], e).Verdict,
		}
	}}
}

func studyOf(t *testing.T, j Judge, simulate Simulate, benches, tests int, leaks ...float64) Result {
	t.Helper()
	var cells []Cell
	for _, l := range leaks {
		cells = append(cells, Cell{Scene: plain, Leak: l})
	}
	var tallies [][][]Tally
	for b := range benches {
		tallies = append(tallies, Bench(cells, []Judge{j}, simulate, b, tests))
	}
	r := Summarise(cells, []Judge{j}, tallies)
	require.Len(t, r.Cells, len(leaks)*len(r.Judges))
	return r
}

// A judge that claims what it is off by covers 95 % and has that RMS error;
// the figures' claims are held against their errors (seed in known).
func TestStudyOfAnHonestJudge(t *testing.T) {
	f := studyOf(t, saying(0.1), known(0.08, 0.06), 2000, 5, 0.5).Overall[0].All
	assert.Equal(t, 10000, f.Tests)
	assert.InDelta(t, 0, f.Decay.Bias.Value, 3*f.Decay.Bias.Error)
	assert.InDelta(t, 0.1, f.Decay.RMS.Value, 3*f.Decay.RMS.Error)
	assert.InDelta(t, 0.95, f.Decay.Coverage.Value, 3*f.Decay.Coverage.Error)
	assert.InDelta(t, 10, f.LimitOverU, 1e-9)
	assert.True(t, math.IsNaN(f.Leak.Bias.Value), "no estimate, no figure")
	assert.Equal(t, 0.5, f.Time.Value)
}

// Standard errors are those between benches: where a bench keeps its error,
// more tests do not make it smaller.
func TestStudyErrorsAreThoseOfBenches(t *testing.T) {
	few := studyOf(t, saying(0.1), known(0.1, 0), 400, 1, 0.5).Overall[0].All
	many := studyOf(t, saying(0.1), known(0.1, 0), 400, 5, 0.5).Overall[0].All
	assert.InEpsilon(t, 0.1/math.Sqrt(400), few.Decay.Bias.Error, 0.1)
	assert.InEpsilon(t, few.Decay.Bias.Error, many.Decay.Bias.Error, 0.01)
	tests := studyOf(t, saying(0.1), known(0, 0.1), 400, 5, 0.5).Overall[0].All
	assert.InEpsilon(t, 0.1/math.Sqrt(2000), tests.Decay.Bias.Error, 0.15)
}

// Wrong verdicts are counted as what they are.
func TestStudyCountsVerdicts(t *testing.T) {
	always := func(v verdict.Verdict) Judge {
		return Judge{Name: "always", Judge: func(analysis.Hold) Answer {
			return Answer{DecayRate: none(), LeakRate: none(), Valid: true, At: 1, Verdict: v}
		}}
	}
	f := studyOf(t, always(verdict.Pass), known(0, 0), 4, 1, 0, 0.9, 1.1, 2).Overall[0].All
	assert.Equal(t, 1.0, f.PassLeaking.Value)
	assert.Equal(t, 0.5, f.Forbidden.Value, "of leaks 0 and 2, the latter")
	assert.Zero(t, f.FailGood.Value)
	f = studyOf(t, always(verdict.Fail), known(0, 0), 4, 1, 0, 0.9, 1.1, 2).Overall[0].All
	assert.Equal(t, 1.0, f.FailGood.Value)
	assert.Equal(t, 0.5, f.Forbidden.Value)
	f = studyOf(t, always(verdict.Inconclusive), known(0, 0), 4, 1, 0, 2).Overall[0].All
	assert.Equal(t, 1.0, f.Inconclusive.Value)
	assert.Zero(t, f.Forbidden.Value)
}

// An invalid hold is INCONCLUSIVE, whatever else the judge says of it.
func TestStudyInvalidIsNoVerdict(t *testing.T) {
	j := Judge{Name: "invalid", Judge: func(analysis.Hold) Answer {
		return Answer{DecayRate: estimated(uncertainty.Estimate{Value: 9}), LeakRate: none(), Verdict: verdict.Pass, At: 1}
	}}
	f := studyOf(t, j, known(0, 0), 3, 1, 2).Overall[0].All
	assert.Equal(t, 1.0, f.Invalid.Value)
	assert.Equal(t, 1.0, f.Inconclusive.Value)
	assert.Zero(t, f.Forbidden.Value)
	assert.True(t, math.IsNaN(f.Decay.Bias.Value))
}

// The worst tenth are the benches that are off most.
func TestStudyWorstTenth(t *testing.T) {
	simulate := func(c Cell, bench, test int) Trial {
		tr := known(0, 0)(c, bench, test)
		if bench%10 == 3 {
			tr.Hold.Start += 0.7
		}
		return tr
	}
	r := studyOf(t, saying(0.1), simulate, 30, 2, 0.5).Overall[0]
	assert.InDelta(t, 0.7, r.Worst.Decay.RMS.Value, 1e-12)
	assert.Zero(t, r.Worst.Decay.Coverage.Value)
	assert.Equal(t, 3, r.Worst.Benches)
}

// Aims are missed by who misses them.
func TestStudyAims(t *testing.T) {
	cells := []Cell{{Scene: plain, Leak: 0.5}}
	hits := func(u float64) map[string]bool {
		out := map[string]bool{}
		for _, a := range studyOf(t, saying(u), known(0.05, 0.05), 500, 2, 0.5).Aims(cells, "saying", "", "saying") {
			out[a.Text] = a.Hit
		}
		return out
	}
	const coverage = "coverage of 95 % intervals of the decay rate, over all: 93 to 97 %"
	assert.True(t, hits(0.0707)[coverage])
	assert.False(t, hits(0.03)[coverage], "claims too little")
	assert.False(t, hits(0.3)[coverage], "claims too much")
}

// Least squares on time and temperature gives back the slope beside a
// temperature without errors, and says more of it where noise is correlated.
func TestLeastSquaresJudge(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 3))
	h := analysis.Hold{Start: 0, End: 299, Limits: []verdict.Limit{{Quantity: "decay_rate", Value: 3000}}}
	noise := 0.0
	for i := range 300 {
		at := float64(i)
		temp := 0.2 * math.Sin(at/20)
		noise = 0.9*noise + random.NormFloat64()*200
		h.Trapped.Time, h.Temperature.Time = append(h.Trapped.Time, at), append(h.Temperature.Time, at)
		h.Trapped.Value = append(h.Trapped.Value, 1e7-1000*at+4.5e5*temp+noise)
		h.Temperature.Value = append(h.Temperature.Value, 295+temp)
	}
	h.Trapped.Quantity = si.Pressure
	bare, wide := LeastSquares(false).Judge(h), LeastSquares(true).Judge(h)
	assert.InDelta(t, 1000, bare.DecayRate.Value, 20)
	assert.Greater(t, wide.DecayRate.StdUncertainty, 3*bare.DecayRate.StdUncertainty)
	assert.Equal(t, verdict.Pass, bare.Verdict)
	assert.InDelta(t, 1000, TwoPoints().Judge(h).DecayRate.Value, 700)

	h.Temperature = series.Column{}
	assert.True(t, math.IsNaN(LeastSquares(true).Judge(h).DecayRate.Value))
	assert.Equal(t, verdict.Inconclusive, LeastSquares(true).Judge(h).Verdict)
}
