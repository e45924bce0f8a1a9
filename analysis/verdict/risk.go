package verdict

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// Prior is how the true values of the units that come to a bench are spread;
// the distributions of gonum's distuv are priors.
type Prior interface {
	Prob(x float64) float64
	Quantile(p float64) float64
}

// Losses is a prior for what is never below 0 and skewed, as leaks are: a
// gamma distribution of that mean and standard deviation, both > 0.
//
// Source: [1] 9.5.4, which describes a non-negative quantity so.
func Losses(mean, standardDeviation float64) Prior {
	shape := mean / standardDeviation * mean / standardDeviation
	return distuv.Gamma{Alpha: shape, Beta: shape / mean}
}

// Tolerance is the interval of the values that conform; an open end is
// infinite.
type Tolerance struct{ Low, High float64 }

// Tolerance returns the values that conform to the limit.
func (l Limit) Tolerance() Tolerance {
	if l.Bound == Min {
		return Tolerance{l.Value, math.Inf(1)}
	}
	return Tolerance{math.Inf(-1), l.Value}
}

func (t Tolerance) holds(x float64) bool { return t.Low <= x && x <= t.High }

// GlobalRisk is what becomes of the units of a prior, as shares of all.
type GlobalRisk struct {
	// NotConforming is the share of units whose true value does not conform.
	NotConforming float64
	// Consumer is the share of units that do not conform and PASS, Producer
	// that of units that conform and FAIL.
	Consumer, Producer float64
	// Pass, Fail and Inconclusive are all verdicts.
	Pass, Fail, Inconclusive float64
}

// Global adds up over a prior what becomes of units: chances returns for a
// true value how probable PASS and FAIL are.
//
// Source: [1] eq. 16 to 20, 9.5.2 and 9.5.3, where what is not accepted is
// rejected: fail = 1 − pass (mark M).
func Global(prior Prior, t Tolerance, chances func(truth float64) (pass, fail float64)) GlobalRisk {
	var out GlobalRisk
	ends := []float64{prior.Quantile(farTail), prior.Quantile(1 - farTail)}
	low, high := ends[0], ends[1]
	for _, limit := range []float64{t.Low, t.High} {
		if limit > low && limit < high {
			ends = append(ends, limit)
		}
	}
	slices.Sort(ends)
	nodes, weights := make([]float64, gaussPoints), make([]float64, gaussPoints)
	for i := range len(ends) - 1 {
		conforms, step := t.holds((ends[i]+ends[i+1])/2), (ends[i+1]-ends[i])/pieces
		for k := range pieces {
			from := ends[i] + float64(k)*step
			quad.Legendre{}.FixedLocations(nodes, weights, from, from+step)
			for j, x := range nodes {
				pass, fail := chances(x)
				out.take(weights[j]*prior.Prob(x), pass, fail, conforms)
			}
		}
	}
	return out
}

// Of a prior all but farTail at either end is added up, in that many pieces
// between the limits, each at that many points.
const (
	farTail     = 1e-10
	pieces      = 48
	gaussPoints = 8
)

func (g *GlobalRisk) take(share, pass, fail float64, conforms bool) {
	g.Pass += share * pass
	g.Fail += share * fail
	g.Inconclusive += share * (1 - pass - fail)
	if conforms {
		g.Producer += share * fail
		return
	}
	g.NotConforming += share
	g.Consumer += share * pass
}
