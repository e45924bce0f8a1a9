package simbench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tight is a circuit with no leak, no settling and no warmth of its own.
var tight = Circuit{ThermalCoefficient: 4.5e5, Stiffness: 3e12, TestPressure: 100e5}

const dt = 0.01

// trial is one circuit in a body of its own.
type trial struct {
	flow
	warmth
	t float64
}

func newTrial(c Circuit, p Programme) *trial {
	var w warmth
	w.begin(p, 0, 0)
	return &trial{flow: newFlow(c, w.body, p.Rate, 0), warmth: w}
}

func (tr *trial) run(seconds float64) {
	for range int(math.Round(seconds / dt)) {
		before, after := tr.warmth.step(tr.t, dt, 0)
		tr.flow.step(tr.t, dt, before, after)
		tr.t += dt
	}
}

// holdAt pumps to the test pressure, locks and vents the feed side.
func (tr *trial) holdAt() {
	tr.supply = supply{state: pumped, to: tr.c.TestPressure, begin: tr.t, duration: 8}
	tr.run(12)
	tr.locked = true
	tr.supply = supply{state: vented}
	tr.run(20)
}

func TestTightUnitAtSteadyTemperatureKeepsItsPressure(t *testing.T) {
	tr := newTrial(tight, Programme{Start: 295})
	tr.holdAt()
	assert.InDelta(t, 100e5, tr.trapped, 1)
	p := tr.trapped
	tr.run(300)
	assert.Equal(t, p, tr.trapped)
	assert.InDelta(t, 0, tr.feed, 1)
}

func TestPressureGoesWithTheLiquidsTemperatureTimesB(t *testing.T) {
	for _, rate := range []float64{-0.0025, 0.003} { // K/s
		c := tight
		c.Lag = 40
		tr := newTrial(c, Programme{Start: 295, Rate: rate})
		tr.holdAt()
		p, temp := tr.trapped, tr.liquid
		tr.run(300)
		assert.InDelta(t, rate*300, tr.liquid-temp, 1e-9, "liquid follows the ramp")
		assert.InDelta(t, c.ThermalCoefficient*rate*300, tr.trapped-p, 1e-3)
	}
}

func TestLeakIsLaminarAndAsGivenAtTheTestPressure(t *testing.T) {
	c := tight
	c.Leak = 1e5 / 60
	tr := newTrial(c, Programme{Start: 295})
	tr.holdAt()
	tr.trapped, tr.feed = c.TestPressure, 0
	before := tr.trapped
	tr.run(dt)
	assert.InEpsilon(t, c.Leak, (before-tr.trapped)/dt, 1e-5)
	tr.trapped = c.TestPressure
	tr.run(600)
	want := c.TestPressure * math.Exp(-c.Leak/c.TestPressure*600) // closed form
	assert.InEpsilon(t, want, tr.trapped, 1e-9)
}

func TestSettlingIsAnExponentialThatEnds(t *testing.T) {
	c := tight
	c.Settling = []Settling{{Amplitude: 6e5, TimeConstant: 120}}
	tr := newTrial(c, Programme{Start: 295})
	tr.supply = supply{state: pumped, to: c.TestPressure} // a step
	tr.run(dt)
	tr.trapped, tr.pressed = c.TestPressure, c.TestPressure
	tr.settled[0] = 0
	tr.locked = true
	tr.supply = supply{state: vented}
	tr.feed = 0
	tr.run(120)
	assert.InEpsilon(t, 6e5*(1-math.Exp(-1)), c.TestPressure-tr.trapped, 1e-6)
	tr.run(3600)
	assert.InEpsilon(t, 6e5, c.TestPressure-tr.trapped, 1e-6)
	// Pumped up again it has nothing more to give, a release gives it back.
	tr.locked = false
	tr.run(1200)
	assert.InDelta(t, 0, tr.settled[0], 6e5*1e-3)
}

func TestLogTimeSettlingLosesTheSameEachEFold(t *testing.T) {
	c := tight
	c.LogSettling = 2e4
	tr := newTrial(c, Programme{Start: 295})
	tr.holdAt()
	since := tr.flow.since
	run := func(e float64) float64 {
		p := tr.trapped
		tr.run(math.Round((since+math.Exp(e)-1-tr.t)*100) / 100)
		return p - tr.trapped
	}
	run(4)
	assert.InEpsilon(t, 2e4, run(5), 1e-3)
	assert.InEpsilon(t, 2e4, run(6), 1e-3)
}

func TestPumpingWarmsAndTheWarmthLeaves(t *testing.T) {
	c := tight
	c.Warming, c.WarmingTime = 0.06/100e5, 40
	tr := newTrial(c, Programme{Start: 295})
	tr.supply = supply{state: pumped, to: 100e5, begin: 0, duration: 0.5}
	tr.run(1.5)
	tr.locked = true
	tr.supply = supply{state: vented}
	assert.InDelta(t, 0.06, tr.excess, 0.003)
	p, excess := tr.trapped, tr.excess
	tr.run(400)
	assert.InEpsilon(t, c.ThermalCoefficient*excess, p-tr.trapped, 1e-3)
}

func TestCheckValveNeverLetsPressureBack(t *testing.T) {
	tr := newTrial(tight, Programme{Start: 295})
	tr.locked = true
	tr.supply = supply{state: pumped, to: 100e5, begin: 0, duration: 8}
	top := 0.0
	for range 1000 {
		tr.run(dt)
		require.GreaterOrEqual(t, tr.trapped, top)
		top = tr.trapped
	}
	assert.InDelta(t, 100e5, top, 1)
	tr.supply = supply{state: vented}
	tr.run(60)
	assert.Equal(t, top, tr.trapped)
	assert.InDelta(t, 0, tr.feed, 1)
	// Pumped again, but less: nothing enters. More: it does.
	tr.supply = supply{state: pumped, to: 80e5}
	tr.run(5)
	assert.Equal(t, top, tr.trapped)
	tr.supply = supply{state: pumped, to: 110e5}
	tr.run(5)
	assert.InDelta(t, 110e5, tr.trapped, 1)
}

func TestFeedLeftUnventedRaisesTheTrappedPressure(t *testing.T) {
	tr := newTrial(tight, Programme{Start: 295})
	tr.holdAt()
	tr.feed = tr.trapped
	tr.supply = supply{state: creeping, rate: 1000}
	p := tr.trapped
	tr.run(300)
	assert.InEpsilon(t, 300*1000, tr.trapped-p, 1e-3)
}

func TestClosedSystemKeepsItsLiquid(t *testing.T) {
	c := tight
	c.Leak = 1e5 / 60 // from one side to the other: still inside
	tr := newTrial(c, Programme{Start: 295})
	liquid := func() float64 { return tr.trapped/tr.c.Stiffness + tr.feed/tr.c.FeedStiffness }
	tr.feed = 120e5
	before := liquid()
	tr.locked = true
	tr.run(5)
	assert.InEpsilon(t, before, liquid(), 1e-12)
	assert.InDelta(t, tr.trapped, tr.feed, 1)
	tr.feed = 0
	before = liquid()
	tr.run(30)
	assert.Less(t, tr.feed, tr.trapped)
	tr.locked = false
	tr.run(5)
	assert.InEpsilon(t, before, liquid(), 1e-12)
}

func TestReleaseEmptiesTheTrappedSide(t *testing.T) {
	tr := newTrial(tight, Programme{Start: 295})
	tr.holdAt()
	tr.locked = false
	tr.run(5)
	assert.InDelta(t, 0, tr.trapped, 100)
}

func TestFollowSolvesTheRampExactly(t *testing.T) {
	// τ·dT/dt = r·t − T from rest has T = r·(t − τ·(1 − e^(−t/τ))).
	const tau, r = 30.0, 0.02
	want := func(t float64) float64 { return r * (t - tau*(1-math.Exp(-t/tau))) }
	assert.InEpsilon(t, want(100), follow(0, 0, r*100, tau, 100), 1e-12)
	half := follow(0, 0, r*50, tau, 50)
	assert.InEpsilon(t, want(100), follow(half, r*50, r*100, tau, 50), 1e-12)
	assert.Equal(t, 7.0, follow(3, 5, 7, 0, 1))
}

func TestProgrammeSwings(t *testing.T) {
	p := Programme{Start: 295, Rate: 0.001, Swing: 0.1, Period: 400}
	assert.InDelta(t, 295.2, p.at(100), 1e-12)
	assert.InDelta(t, 295.4, p.at(400), 1e-9)
}
