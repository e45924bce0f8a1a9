package analysis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// whiteProspect is a hold with white noise and nothing else in doubt.
func whiteProspect() Prospect {
	return Prospect{
		Duration: 300, Noise: 1000, Readings: 30_000, TestPressure: 100 * bar,
		Known: decay.Characterised{ThermalCoefficient: normal(5*bar, 0, si.ThermalCoefficient), Lag: noLag()},
	}
}

// shares of the hold at which it is looked at.
func looksAt(spending verdict.Spending, duration float64, shares ...float64) Looks {
	l := Looks{Hold: duration, Spending: spending}
	for _, s := range shares {
		l.Plan = append(l.Plan, s*duration)
	}
	return l
}

// evenShares are n looks from a tenth of the hold to its end.
func evenShares(n int) (out []float64) {
	for i := range n {
		out = append(out, 0.1+0.9*float64(i)/float64(n-1))
	}
	return out
}

// Mean time to the decision on a tight unit under white noise, whose
// information grows with the cube of time, one-sided risk 0.05. m is the limit
// over the rate that the full hold detects with 95 %, 2 · 1.645 u. Own
// simulation of another program, mark C.
func TestStopsAgreeWithSimulation(t *testing.T) {
	t.Parallel()
	p := whiteProspect()
	full := 2 * 1.6449 * outlook(t, p, decayRate(1)).StdUncertainty
	for _, row := range []struct {
		spending verdict.Spending
		shares   []float64
		m, want  float64
	}{
		{verdict.PocockLike, []float64{.5, .75, 1}, 1, .834}, {verdict.PocockLike, []float64{.5, .75, 1}, 2, .628},
		{verdict.PocockLike, []float64{.5, .75, 1}, 3, .532}, {verdict.PocockLike, []float64{.5, .75, 1}, 5, .500},
		{verdict.OBrienFlemingLike, []float64{.5, .75, 1}, 1, .937}, {verdict.OBrienFlemingLike, []float64{.5, .75, 1}, 2, .767},
		{verdict.OBrienFlemingLike, []float64{.5, .75, 1}, 5, .586},
		{verdict.PocockLike, evenShares(12), 5, .35}, {verdict.PocockLike, evenShares(12), 8, .28}, {verdict.PocockLike, evenShares(12), 12, .23},
	} {
		o := outlook(t, p, decayRate(row.m*full))
		s := o.Stops(looksAt(row.spending, 300, row.shares...), 0, 1, 20_000)
		assert.InDelta(t, row.want, s.Mean/300, 0.012, "%s, %d looks, m %g", row.spending, len(row.shares), row.m)
	}
}

// A unit at the limit gets either verdict at most at its risk, over all looks
// together, whatever part of the uncertainty does not shrink; and a hold that
// may go on is decided later and more often.
func TestStopsKeepTheRisks(t *testing.T) {
	t.Parallel()
	const trials = 20_000
	p := whiteProspect()
	for _, drift := range []float64{0, 0.05, 0.5} {
		p.Transducer.Drift = drift
		limit := decayRate(1)
		limit.RiskFail = 0.02
		o := outlook(t, p, limit)
		for _, spending := range []verdict.Spending{verdict.PocockLike, verdict.OBrienFlemingLike} {
			s := o.Stops(looksAt(spending, 300, evenShares(6)...), 1, 7, trials)
			assert.Less(t, s.Pass, 0.05+0.006, "drift %g", drift)
			assert.Less(t, s.Fail, 0.02+0.004, "drift %g", drift)
			if drift == 0 {
				assert.InDelta(t, 0.05, s.Pass, 0.006)
				assert.InDelta(t, 0.02, s.Fail, 0.004)
			}
		}
	}
	p.Transducer.Drift = 0
	o := outlook(t, p, decayRate(2*outlook(t, p, decayRate(1)).StdUncertainty))
	alone := o.Stops(looksAt(verdict.PocockLike, 300, 0.5, 1), 0, 3, trials)
	longer := o.Stops(looksAt(verdict.PocockLike, 300, 0.5, 1, 2, 3), 0, 3, trials)
	assert.Greater(t, longer.Pass, alone.Pass)
	assert.Greater(t, longer.Mean, alone.Mean)
	assert.Greater(t, longer.Extended, 0.1)
	assert.Zero(t, alone.Extended)
}

// Every kind of limit is played; what looks do not decide has its own end.
func TestStopsOfEveryLimit(t *testing.T) {
	t.Parallel()
	m, h := settlingHold()
	p := prospectOf(m, h)
	h.Limits = append(h.Limits, verdict.Limit{Quantity: "time_constant", Bound: verdict.Min, Value: 20_000})
	for _, l := range h.Limits {
		o := outlook(t, p, l)
		tight, gross := o.Stops(looksAt(0, 300, 0.25, 0.5, 1), 0, 5, 2000), o.Stops(looksAt(0, 300, 0.25, 0.5, 1), 4, 5, 2000)
		assert.Greater(t, tight.Pass, gross.Pass, l.Quantity)
		assert.Greater(t, gross.Fail, tight.Fail, l.Quantity)
		if !DecidedByLooks(l.Quantity) {
			assert.Equal(t, 300.0, tight.Mean, l.Quantity)
			assert.Equal(t, o.Share(0), tight.Share)
		}
	}
	other := outlook(t, p, decayRate(1)).Stops(looksAt(0, 300, 0.5, 1), 1, 2, 500)
	assert.Equal(t, other, outlook(t, p, decayRate(1)).Stops(looksAt(0, 300, 0.5, 1), 1, 2, 500))
}

// O'Brien–Fleming-like, a boundary of about z(1 − α/2)/f^1.5 is met by a tight
// unit's m·3.29·f^1.5 at f = (0.596/m)^⅓; the looks add about half of what lies
// between two (mark C).
func TestStopsOfLateSpendingByFormula(t *testing.T) {
	t.Parallel()
	p := whiteProspect()
	full := 2 * 1.6449 * outlook(t, p, decayRate(1)).StdUncertainty
	for _, m := range []float64{3, 5} {
		s := outlook(t, p, decayRate(m*full)).Stops(looksAt(verdict.OBrienFlemingLike, 300, evenShares(21)...), 0, 1, 2000)
		assert.InDelta(t, math.Cbrt(0.596/m)+0.0225, s.Mean/300, 0.015, "m %g", m)
	}
}

// What time does not make smaller ends an undecided hold at its own end; only
// noise lets it go on.
func TestStopsGoOnOnlyWhereTimeCanSettleIt(t *testing.T) {
	p := whiteProspect()
	looks := looksAt(verdict.PocockLike, 300, 0.5, 1, 2, 3)
	noisy := outlook(t, p, decayRate(1)).Stops(looks, 1, 3, 2000)
	assert.Greater(t, noisy.Extended, 0.85)
	assert.Greater(t, noisy.Mean, 800.0)

	p.Noise = 1
	p.Transducer.Drift = 0.5
	drifting := outlook(t, p, decayRate(1)).Stops(looks, 1, 3, 2000)
	assert.Less(t, drifting.Extended, 0.13, "those whose estimate lies off the limit by more than that doubt")
	assert.Less(t, drifting.Mean, 370.0)
	assert.Greater(t, drifting.Inconclusive, 0.85)
}

// A plan with looks draws its curve with them; a limit that they do not decide
// has no looks in it.
func TestPlanHasItsLooksInTheCurve(t *testing.T) {
	p := whiteProspect()
	looks := looksAt(verdict.PocockLike, 300, 0.5, 1, 2, 3)
	l := decayRate(2 * outlook(t, p, decayRate(1)).StdUncertainty)
	alone, _ := p.Plan(l, nil, 1)
	looked, _ := p.Plan(l, &looks, 1)
	assert.NotNil(t, looked.Looks)
	assert.Greater(t, looked.Curve[0].Pass, alone.Curve[0].Pass+0.1, "a unit without loss is held on until it passes")
	for i := 1; i < len(looked.Curve); i++ {
		assert.LessOrEqual(t, looked.Curve[i].Pass, looked.Curve[i-1].Pass+0.02)
	}
	drop, _ := p.Plan(verdict.Limit{Quantity: "drop", Value: l.Value * 300}, &looks, 1)
	assert.Nil(t, drop.Looks)
}
