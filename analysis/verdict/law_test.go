package verdict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

func drawLimit(t *rapid.T) Limit {
	row := rapid.SampledFrom(Quantities).Draw(t, "quantity")
	return Limit{
		Quantity: row.Name,
		Bound:    rapid.SampledFrom([]Bound{Max, Min}).Draw(t, "bound"),
		Rule:     rapid.SampledFrom([]Rule{Guarded, Simple}).Draw(t, "rule"),
		Value:    rapid.Float64Range(0.1, 100).Draw(t, "limit"),
		RiskPass: rapid.Float64Range(0.001, 0.5).Draw(t, "risk_pass"),
		RiskFail: rapid.Float64Range(0.001, 0.5).Draw(t, "risk_fail"),
		UMax:     rapid.Float64Range(0.1, 50).Draw(t, "u_max"),
	}
}

func drawEstimate(t *rapid.T) uncertainty.Estimate {
	return uncertainty.Estimate{
		Value:            rapid.Float64Range(0.1, 100).Draw(t, "y"),
		StdUncertainty:   rapid.Float64Range(0, 20).Draw(t, "u"),
		DegreesOfFreedom: rapid.Float64Range(1, 200).Draw(t, "dof"),
	}
}

// order is how good a verdict is for the unit.
func order(v Verdict) int { return map[Verdict]int{Fail: 0, Inconclusive: 1, Pass: 2}[v] }

// A unit that measures better never fares worse. (The reciprocal's u depends
// on the value, so a time constant is left to its own test.)
func TestLawBetterValueNeverWorseVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, e := drawLimit(t), drawEstimate(t)
		if l.Quantity == timeConstant {
			t.Skip("decided on the reciprocal")
		}
		better := e
		step := rapid.Float64Range(0, 50).Draw(t, "step")
		if l.Bound == Min {
			better.Value += step
		} else {
			better.Value -= step
		}
		assert.GreaterOrEqual(t, order(Decide(l, better).Verdict), order(Decide(l, e).Verdict))
	})
}

// A smaller uncertainty never turns a PASS or a FAIL into INCONCLUSIVE.
func TestLawLessUncertaintyNeverLessDecided(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, e := drawLimit(t), drawEstimate(t)
		if v := Decide(l, e).Verdict; v != Inconclusive {
			e.StdUncertainty *= rapid.Float64Range(0, 1).Draw(t, "share")
			assert.Equal(t, v, Decide(l, e).Verdict)
		}
	})
}

// Units change nothing: limit and estimate times a constant give the verdict
// and the scaled bound. Powers of two keep the arithmetic exact.
func TestLawUnitsChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, e := drawLimit(t), drawEstimate(t)
		d := Decide(l, e)
		k := math.Ldexp(1, rapid.IntRange(-30, 30).Draw(t, "power"))
		l.Value, l.UMax = l.Value*k, l.UMax*k
		e.Value, e.StdUncertainty = e.Value*k, e.StdUncertainty*k
		scaled := Decide(l, e)
		assert.Equal(t, d.Verdict, scaled.Verdict)
		assert.InEpsilon(t, math.Abs(d.DecidedBy)+1, math.Abs(scaled.DecidedBy)/k+1, 1e-9)
	})
}

// A maximum on y is a minimum on −y.
func TestLawMaximumAndMinimumMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, e := drawLimit(t), drawEstimate(t)
		l.Quantity = "decay_rate"
		d := Decide(l, e)
		l.Value, e.Value, l.Bound = -l.Value, -e.Value, 1-l.Bound
		m := Decide(l, e)
		assert.Equal(t, d.Verdict, m.Verdict)
		assert.Equal(t, d.DecidedBy, -m.DecidedBy)
	})
}

func TestOverallPutsFailFirstAndNothingLast(t *testing.T) {
	assert.Equal(t, Inconclusive, Overall())
	assert.Equal(t, Pass, Overall(Pass, Pass))
	assert.Equal(t, Inconclusive, Overall(Pass, Inconclusive))
	assert.Equal(t, Fail, Overall(Inconclusive, Fail, Pass))
}

// What the risk promises: a unit exactly at the limit passes, and fails, as
// often as stated and no more.
func TestLawRiskAtTheLimit(t *testing.T) {
	const n = 200_000
	l := Limit{Quantity: "decay_rate", Value: 0, RiskPass: 0.05, RiskFail: 0.02}
	var pass, fail int
	for i := range n {
		p := (float64(i) + 0.5) / n
		switch Decide(l, rate(uncertainty.T(p, math.Inf(1)), 1)).Verdict {
		case Pass:
			pass++
		case Fail:
			fail++
		}
	}
	assert.InDelta(t, 0.05, float64(pass)/n, 1e-4)
	assert.InDelta(t, 0.02, float64(fail)/n, 1e-4)
}

// Every row of the table can be limited, written and read back.
func TestEveryQuantityCanBeLimited(t *testing.T) {
	for _, row := range Quantities {
		text := row.Name + " 1 " + si.DefaultDisplay.Unit(row.Quantity).Symbol
		if row.Name == pressureAfter {
			text = "pressure_after 10 min 1 bar"
		}
		l, err := Parse(text, 100e5)
		if assert.NoError(t, err) {
			assert.Equal(t, row.Default, l.Bound)
			assert.Equal(t, row.Title, l.Title())
			d := Decide(l, uncertainty.Estimate{Value: l.Value, StdUncertainty: l.Value, DegreesOfFreedom: 5, Quantity: row.Quantity})
			assert.Equal(t, Inconclusive, d.Verdict)
			assert.Contains(t, d.Reason, l.Text())
		}
	}
}
