package main

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"

	"holdbench/analysis"
	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/study"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// The study's small form: scenes in which a wrong coefficient, lag or settling
// shows, with a leak far beyond the limit.
var smallStudy = studyFlags{
	benches: 50, tests: 1, seed: 5, scenes: []string{"ramp", "heating", "settling"}, leaks: []float64{1.5},
}

// What the small form wants: it has too few tests for the aims of the whole
// study, and more room is left.
const (
	smallCoverage  = 0.88
	smallForbidden = 0
	clearlyMissed  = 0.80 // of coverage
	clearlyWrong   = 0.02 // of forbidden answers
)

// handing is Assess, given something else than the truth of what is stated.
func handing(name string, change func(h *analysis.Hold)) study.Judge {
	honest := study.Assessed()
	return study.Judge{Name: name, Title: name, Judge: func(h analysis.Hold) study.Answer {
		change(&h)
		return honest.Judge(h)
	}}
}

// controls are judges that are wrong on purpose.
func controls() []study.Judge {
	copied := func(e *uncertainty.Estimate) *uncertainty.Estimate { out := *e; return &out }
	return []study.Judge{
		handing("sign of B turned", func(h *analysis.Hold) {
			h.Characterised.ThermalCoefficient = copied(h.Characterised.ThermalCoefficient)
			h.Characterised.ThermalCoefficient.Value *= -1
		}),
		handing("lag ignored", func(h *analysis.Hold) {
			h.Characterised.Lag = &uncertainty.Estimate{DegreesOfFreedom: math.Inf(1), Quantity: si.Time}
		}),
		handing("prior mean off by two u", func(h *analysis.Hold) {
			h.Characterised.ThermalCoefficient = copied(h.Characterised.ThermalCoefficient)
			h.Characterised.ThermalCoefficient.Value += 2 * h.Characterised.ThermalCoefficient.StdUncertainty
		}),
		handing("u halved", func(h *analysis.Hold) {
			c := &h.Characterised
			settling, warming := *c.Settling, *c.Warming
			c.ThermalCoefficient, c.Lag, c.Creep = copied(c.ThermalCoefficient), copied(c.Lag), copied(c.Creep)
			for _, e := range []*uncertainty.Estimate{
				c.ThermalCoefficient, c.Lag, c.Creep, &settling.Amplitude, &settling.TimeConstant, &warming.Amplitude, &warming.TimeConstant,
			} {
				e.StdUncertainty /= 2
			}
			c.Settling, c.Warming = &settling, &warming
		}),
		settlingSetFree(),
		rawColumn(),
	}
}

// settlingSetFree takes everything from Assess but the noise and what settling
// takes: a line and an exponential whose amplitude and time constant are free
// are fitted to the compensated pressure.
func settlingSetFree() study.Judge {
	return study.Judge{Name: "settling set free", Title: "settling set free", Judge: func(h analysis.Hold) study.Answer {
		a := analysis.Assess(h)
		decay := a.Estimates["decay_rate"]
		besides := 0.0
		for _, l := range decay.Budget {
			if l.Source != "noise" {
				besides = math.Hypot(besides, l.StdUncertainty)
			}
		}
		t, best := a.Curves.Time, fit.Linear{ResidualStd: math.Inf(1)}
		for tau := 20.0; tau < 2000; tau *= 1.6 {
			x := mat.NewDense(len(t), 3, nil)
			for i := range t {
				x.SetRow(i, []float64{1, t[i] - h.Start, math.Exp(-(t[i] - h.Start) / tau)})
			}
			l, err := fit.LeastSquares(x, a.Curves.Compensated)
			if err == nil && l.ResidualStd < best.ResidualStd {
				best = l
			}
		}
		return ofSlope(h, best, besides)
	}}
}

// rawColumn fits time and the thermometer's readings as they are, with the
// coefficient held by its prior as one more reading.
func rawColumn() study.Judge {
	return study.Judge{Name: "raw temperature column", Title: "raw temperature column", Judge: func(h analysis.Hold) study.Answer {
		t, p, temp := study.Together(h)
		prior, n := h.Characterised.ThermalCoefficient, len(t)
		x := mat.NewDense(n+1, 3, nil)
		for i := range t {
			x.SetRow(i, []float64{1, t[i], temp[i]})
		}
		const noise = 2000 // Pa, about that of the readings
		weight := noise / prior.StdUncertainty
		x.SetRow(n, []float64{0, 0, weight})
		l, err := fit.LeastSquares(x, append(append([]float64(nil), p...), weight*prior.Value))
		if err != nil {
			return study.Answer{At: 1}
		}
		return ofSlope(h, l, 0)
	}}
}

// ofSlope judges by the second coefficient of a fit, the negative rate, with
// the noise inflated and what is uncertain besides.
func ofSlope(h analysis.Hold, l fit.Linear, besides float64) study.Answer {
	factor, _ := fit.AR1Inflation(fit.Autocorrelation(l.Residuals), len(l.Residuals))
	e := uncertainty.Estimate{
		Value: -l.Coefficients[1], StdUncertainty: math.Hypot(besides, factor*math.Sqrt(l.Covariance.At(1, 1))),
		DegreesOfFreedom: float64(l.DegreesOfFreedom), Quantity: si.PressureRate,
	}
	q := analysis.Quantity{Estimate: e}
	return study.Answer{DecayRate: q, LeakRate: q, Valid: true, At: 1, Verdict: verdict.Decide(h.Limits[0], e).Verdict}
}

// A judge that is wrong on purpose must miss what is wanted, and by far; the
// honest one must not.
func TestStudyShowsWrongJudges(t *testing.T) {
	t.Parallel() // beside tests that wait for the wall clock
	cells, scenes, err := smallStudy.cells()
	assert.NoError(t, err)
	judges := append([]study.Judge{study.Assessed()}, controls()...)
	tallies := make([][][]study.Tally, smallStudy.benches)
	for bench := range tallies {
		tallies[bench] = study.Bench(cells, judges, smallStudy.simulate(scenes), bench, smallStudy.tests)
	}
	r := study.Summarise(cells, judges, tallies)
	for i, judge := range judges {
		least, forbidden := smallFigures(r, judge.Name)
		t.Logf("%-26s least coverage of a scene %.1f %%, forbidden %.2f %%", judge.Name, 100*least, 100*forbidden)
		if i == 0 {
			assert.GreaterOrEqual(t, least, smallCoverage, judge.Name)
			assert.LessOrEqual(t, forbidden, float64(smallForbidden), judge.Name)
			continue
		}
		assert.True(t, least < clearlyMissed || forbidden > clearlyWrong, "%s: not seen: coverage %.3f, forbidden %.4f", judge.Name, least, forbidden)
	}
}

// smallFigures returns the least coverage of a scene, of what its limit is on, and
// the share of forbidden answers.
func smallFigures(r study.Result, judge string) (least, forbidden float64) {
	least = 1
	for _, row := range r.Scenes {
		if row.Judge != judge {
			continue
		}
		c := row.All.Decay.Coverage.Value
		if row.Scene == "settling" {
			c = row.All.Leak.Coverage.Value
		}
		least = math.Min(least, c)
	}
	for _, row := range r.Overall {
		if row.Judge == judge {
			forbidden = row.All.Forbidden.Value
		}
	}
	return least, forbidden
}
