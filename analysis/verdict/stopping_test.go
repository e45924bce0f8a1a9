package verdict

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// slopeLooks are looks at a slope through white noise from a tenth of the hold
// on: their times as shares of it, and the information there.
func slopeLooks(n int) (times, information []float64) {
	for k := range n {
		f := 0.1 + 0.9*float64(k)/float64(n-1)
		times, information = append(times, f), append(information, f*f*f)
	}
	return times, information
}

// stops looks at many estimates that grow as information does, of something
// that lies excess (in units of the standard uncertainty at the end) beyond
// the limit, and returns how often they passed and when they stopped on
// average. systematic is what all looks have in common, in the same unit; a
// new one for each estimate.
func stops(s Spending, excess, systematic float64, seed uint64) (passed, stop float64) {
	const times = 8000
	at, information := slopeLooks(12)
	var spent []float64
	for _, f := range information {
		spent = append(spent, s.Spent(0.05, f))
	}
	c := Boundaries(spent, information)
	random := rand.New(rand.NewPCG(seed, 1))
	for range times {
		walk, last, end := 0.0, 0.0, 1.0
		common := systematic * random.NormFloat64()
		for k, f := range information {
			walk += math.Sqrt(f-last) * random.NormFloat64()
			last = f
			u := math.Hypot(1/math.Sqrt(f), systematic)
			if excess+walk/f+common+c[k]*u <= 0 {
				passed, end = passed+1, at[k]
				break
			}
		}
		stop += end
	}
	return passed / times, stop / times
}

// A tight unit's limit lies 5, 8 or 12 times as far from what it loses as the
// rate that the full hold detects (95/95: 2·1.645 standard uncertainties).
func TestMeanTimeToDecision(t *testing.T) {
	for _, row := range []struct {
		spending Spending
		times    float64
		stop     float64
		src      string
	}{
		{PocockLike, 5, 0.35, "C own simulation, two programs"},
		{PocockLike, 8, 0.28, "C own simulation, two programs"},
		{PocockLike, 12, 0.23, "C own simulation, two programs"},
		{OBrienFlemingLike, 5, 0.53, "O"},
		{OBrienFlemingLike, 8, 0.46, "O"},
		{OBrienFlemingLike, 12, 0.42, "O"},
	} {
		passed, stop := stops(row.spending, -row.times*2*1.645, 0, 7)
		require.InDelta(t, row.stop, stop, 0.01, "%v %g", row.spending, row.times)
		require.InDelta(t, 1, passed, 1e-3)
	}
}

// A unit exactly at the limit passes at most as often as stated, whatever part
// of the uncertainty is the same at all looks: without any the risk is spent
// to the last.
func TestRiskAtTheLimitIsKept(t *testing.T) {
	for _, s := range []Spending{PocockLike, OBrienFlemingLike} {
		for _, systematic := range []float64{0, 0.3, 1, 3, 10} {
			passed, _ := stops(s, 0, systematic, 11)
			require.Less(t, passed, 0.05+3*math.Sqrt(0.05*0.95/8000), "%v, systematic %g", s, systematic)
			if systematic == 0 {
				require.Greater(t, passed, 0.05-3*math.Sqrt(0.05*0.95/8000), "%v", s)
			}
		}
	}
}

func TestLimitAtALook(t *testing.T) {
	l := Limit{Quantity: "decay_rate", Value: 10}
	pass, fail := l.Risks()
	require.Equal(t, []float64{0.05, 0.05}, []float64{pass, fail})
	exact := func(value, u float64) uncertainty.Estimate {
		return uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Quantity: si.PressureRate}
	}
	e := exact(2, 1)
	require.Equal(t, Pass, Decide(l, e).Verdict)
	require.Equal(t, Pass, Decide(l.AtLook(Level(7), 0), e).Verdict)
	require.Equal(t, Inconclusive, Decide(l.AtLook(Level(8.1), 0.05), e).Verdict, "8 standard uncertainties away")
	require.Equal(t, Inconclusive, Decide(l.AtLook(Level(math.Inf(1)), 0.05), e).Verdict, "nothing may pass at this look")
	require.Equal(t, Inconclusive, Decide(l.AtLook(math.NaN(), math.NaN()), e).Verdict)
	require.Equal(t, Inconclusive, Decide(l.AtLook(0.01, 0), exact(20, 1)).Verdict, "nothing may fail at this look")
	require.Equal(t, Fail, Decide(l.AtLook(0.01, Level(7)), exact(20, 1)).Verdict)
	few := e
	few.DegreesOfFreedom = 4
	require.Equal(t, Inconclusive, Decide(l.AtLook(Level(6), 0), few).Verdict, "Student's tail with few degrees of freedom")
}
