package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// warmingFit is a fit under way of 300 s in which the liquid warms by 6 K.
func warmingFit(change float64) *fitting {
	f := &fitting{duration: 300, liquid: &liquid{start: 293}}
	for t := 0.0; t <= 300; t++ {
		f.t, f.liquid.at = append(f.t, t), append(f.liquid.at, 293+6*math.Sin(t/200))
	}
	f.in.Known.ViscosityChange = exactly(change, 0.003)
	return f
}

// What laminar laws say, and their derivatives by the viscosity's change, with
// a liquid that becomes thinner: against differences. Mark L.
func TestThinnerLiquidLeaksFaster(t *testing.T) {
	const change, h = -0.03, 1e-5
	at := func(c float64) frame {
		f := warmingFit(c)
		return frame{sink: bar, middle: 150, clock: f.clocked()}
	}
	for _, m := range []model{exponential, above} {
		c := examples[m.name][0]
		if m.name == Above {
			c = vector{60 * bar, 40 * bar, math.Log(500)}
		}
		f := func(x frame) float64 { return m.lost(c, x, 300).value }
		assert.Greater(t, f(at(change)), f(at(0)), m.name)
		want := (f(at(change+h)) - f(at(change-h))) / (2 * h)
		assert.InEpsilon(t, want, m.lost(c, at(change), 300).byThickening, 1e-4, m.name)
		times := []float64{10, 150, 299}
		p, _ := m.over(c, at(change+h), times)
		q, _ := m.over(c, at(change-h), times)
		for i, by := range m.thinned(c, at(change), times) {
			assert.InEpsilon(t, (p[i]-q[i])/(2*h), by, 1e-3, m.name)
		}
	}
	theta, _ := at(change).time(300)
	var sum float64
	for i := range 30000 {
		sum += 0.01 * math.Exp(0.03*6*math.Sin((float64(i)+0.5)*0.01/200))
	}
	assert.InEpsilon(t, sum, theta, 1e-5)
}

// A laminar leak whose liquid warms by 10 K is found as what it is at the
// start's temperature, with the viscosity's doubt a line of its own.
func TestLaminarLeakOfAWarmingLiquid(t *testing.T) {
	const tau, change = 3000.0, -0.03
	noise, still := white(1, 0.005*bar), white(2, 0.01)
	warm := func(t float64) float64 { return 10 * t / 600 }
	in := Input{
		Start: 0, End: 600, Locked: math.NaN(), TestPressure: 100 * bar,
		Temperature: sampled(0, 600, 0.5, func(t float64) float64 { return 293 + warm(t) + still() }),
		Pressure: sampled(0, 600, 0.5, func(t float64) float64 {
			theta := math.Expm1(-change*10*t/600) / (-change * 10 / 600)
			return 100*bar*math.Exp(-theta/tau) + noise()
		}),
		Known: Characterised{ThermalCoefficient: exactly(1e-6, 0), ViscosityChange: exactly(change, 0.003)},
	}
	r := Fit(in, Options{})
	require.Equal(t, Exponential, r.Diagnostics.Law, r.Diagnostics.LawReason)
	rate := *r.Estimates["time_constant"].Reciprocal
	assert.InDelta(t, 1/tau, rate.Value, 4*rate.StdUncertainty)
	assert.Less(t, rate.StdUncertainty, 0.03/tau)
	line := budgetLine(t, rate, SourceViscosity)
	moved := in
	moved.Known.ViscosityChange = exactly(change+0.003, 0.003)
	by := Fit(moved, Options{}).Estimates["time_constant"].Reciprocal.Value - rate.Value
	assert.InEpsilon(t, math.Abs(by), line, 0.1)
}

// Out of an orifice the root of the height falls along a straight line, and
// the flow goes by it.
//
// Source: √p = √p0 − k·t/(2C), from C·dp/dt = −k·√p (mark L).
func TestOrificeEmptiesAlongAStraightLineOfRoots(t *testing.T) {
	c, x := vector{96 * bar, math.Log(2e-3)}, frame{sink: 4 * bar, middle: 150}
	root := func(t float64) float64 { return math.Sqrt(orifice.at(c, x, t).value - x.sink) }
	slope := root(1) - root(0)
	for _, at := range []float64{10, 100, 500, 900} {
		assert.InEpsilon(t, root(0)+slope*at, root(at), 1e-9)
		rate := orifice.rateAt(c, x, orifice.at(c, x, at).value).value
		assert.InEpsilon(t, (orifice.at(c, x, at-1).value-orifice.at(c, x, at+1).value)/2, rate, 1e-9)
	}
	k := -2 * slope
	assert.InEpsilon(t, k*math.Sqrt(96*bar), orifice.rateAt(c, x, 100*bar).value, 1e-9)
	assert.Zero(t, orifice.rateAt(c, x, 3*bar).value)
	assert.InDelta(t, 4*bar, orifice.at(c, x, 2000).value, 1e-6, "empty")
}
