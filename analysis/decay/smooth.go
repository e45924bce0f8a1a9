package decay

import (
	"errors"
	"math"
	"slices"

	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// The probe's readings are averaged into at most mostBlocks blocks, and a
// curve of at most mostDegree is laid through the blocks.
const (
	mostBlocks      = 120
	mostDegree      = 10
	blocksPerDegree = 5
	fewestReadings  = 3
)

// A higher degree is taken only where its coefficient is significant at
// degreeRisk, with the noise inflated for its autocorrelation, and moves the
// curve by more than the resolution can pretend.
const (
	degreeRisk   = 0.001
	overQuantum  = 1.5
	quantumRules = 2.0
)

// errFewTemperatures says that no curve can be laid through so few readings.
var errFewTemperatures = errors.New("fewer than 3 valid temperature readings in the hold")

// smooth is the probe's temperature over the hold as a smooth curve,
//
//	T(t) = base + Σ c_k·P_k(x),  x = (t − origin)/half
//
// with uncorrelated coefficients. Its order is as low as the readings allow:
// at least a straight line, so that a ramp's uncertainty is always counted.
// Where no such curve follows the readings, as over a heating that switches or
// a door that opens, local takes its place (local.go).
type smooth struct {
	base, origin, half float64
	poly               polynomials
	coef               []float64
	local              *spline
	// variance of each coefficient, autocorrelation included; dof of it.
	variance []float64
	dof      float64
	// noise is the standard deviation of a block's mean, inflation the factor
	// on it for autocorrelation (≥ 1).
	noise, inflation float64
	// perBlock is the number of readings in a block.
	perBlock int
	// resolution q of the reading; quantum is what it leaves in a long mean.
	resolution, quantum float64
	// sweep is the range of the blocks' means: how far the reading moved.
	sweep float64
}

// smoothed reduces valid readings over from…to to a smooth curve. stated is
// the reading's resolution (K, 0 when not stated).
func smoothed(c series.Column, from, to, stated float64) (*smooth, error) {
	if c.Len() < fewestReadings || !(to > from) {
		return nil, errFewTemperatures
	}
	s := &smooth{base: c.Value[0], origin: (from + to) / 2, half: (to - from) / 2}
	s.perBlock = (c.Len() + mostBlocks - 1) / mostBlocks
	t, v := blockMeans(c, s.perBlock)
	x, y := make([]float64, len(t)), make([]float64, len(t))
	for i := range t {
		x[i], y[i] = (t[i]-s.origin)/s.half, v[i]-s.base
	}
	if x[0] == x[len(x)-1] {
		return nil, errFewTemperatures
	}
	degree := min(mostDegree, max(1, len(x)/blocksPerDegree))
	degree = min(degree, len(x)-2)
	s.sweep = slices.Max(y) - slices.Min(y)
	basis, values := orthogonal(x, degree)
	s.poly = basis
	all := project(values, basis.norm, y)

	full := remainder(values, all, y)
	scatter := scatterOfDifferences(c.Value)
	s.findResolution(c, stated, scatter, rms(full, len(full)-degree-1))
	inner := scatter / math.Sqrt(float64(s.perBlock))
	keep := s.degree(all, full, inner)
	s.coef = all[:keep+1]
	s.scaleNoise(remainder(values[:keep+1], s.coef, y), inner)
	if left := rms(full, len(full)-degree-1); left*left > leftByCurve*inner*inner+quantumRules*s.quantum*s.quantum {
		s.tryLocal(c, scatter, false)
	}
	return s, nil
}

// bends reports whether the readings demand more than a straight line.
func (s *smooth) bends() bool { return len(s.coef) > 2 || s.local != nil }

// findResolution decides on the reading's step and on what it leaves.
func (s *smooth) findResolution(c series.Column, stated, scatter, block float64) {
	// What differences show and what is left over blocks: the larger of the
	// two is how far a reading strays from the curve.
	stray := math.Hypot(scatter, block)
	s.resolution = resolutionOf(stated, c.Value, stray)
	if s.resolution > 0 && twoLevels(c.Value) {
		// how often a reading flips between two values says where it stands
		// between them, and little of its noise
		scatter = min(scatter, s.resolution*math.Hypot(leastDither, 1/math.Sqrt(12)))
	}
	s.quantum = quantisation(s.resolution, scatter)
}

// leastDither is the noise in steps that is taken for a reading that takes two
// values only: with a third of a step or more it would take a third one.
//
// Source: own simulation of ramps by less than a step (mark C).
const leastDither = 0.15

// twoLevels: nearly all values are one of two.
func twoLevels(v []float64) bool {
	low, high, out := v[0], v[0], 0
	for _, x := range v {
		switch {
		case math.Abs(x-low) <= rounding*math.Abs(x) || math.Abs(x-high) <= rounding*math.Abs(x):
		case low == high:
			high = x
		default:
			out++
		}
	}
	return float64(out) < 0.003*float64(len(v))
}

// degree returns the highest degree that the readings demand. all are the
// coefficients and full the residuals of the highest degree tried; inner is
// the noise of a block as its readings show it.
func (s *smooth) degree(all, full []float64, inner float64) int {
	highest := len(all) - 1
	sigma, inflation, effective := s.noiseOf(full, highest, inner)
	t := uncertainty.T(1-degreeRisk/2, max(effective-float64(len(all)), 1))
	for k := highest; k > 1; k-- {
		size := math.Abs(all[k]) * math.Sqrt(s.poly.norm[k])
		if size > t*sigma*inflation && size > overQuantum*s.quantum*math.Sqrt(float64(len(full))) {
			return k
		}
	}
	return 1
}

// noiseOf returns the noise of a block mean from residuals of that degree,
// its inflation for autocorrelation and the number of independent blocks.
// Where the residuals are no more than what the resolution explains, they are
// a staircase and no noise: the readings' own scatter is taken, and what the
// staircase may hide is left to the resolution's line of the budget.
func (s *smooth) noiseOf(residuals []float64, degree int, inner float64) (sigma, inflation, effective float64) {
	n := len(residuals)
	sigma = rms(residuals, n-degree-1)
	if s.quantum > inner && sigma*sigma <= quantumRules*(s.quantum*s.quantum+inner*inner) {
		return inner, 1, float64(n)
	}
	inflation, effective = fit.AR1Inflation(fit.Autocorrelation(residuals), n)
	return sigma, inflation, effective
}

func (s *smooth) scaleNoise(residuals []float64, inner float64) {
	degree := len(s.coef) - 1
	sigma, inflation, effective := s.noiseOf(residuals, degree, inner)
	s.noise, s.inflation = sigma, inflation
	s.dof = max(effective-float64(degree+1), 1)
	s.variance = make([]float64, degree+1)
	for k := range s.variance {
		s.variance[k] = sigma * sigma * inflation * inflation / s.poly.norm[k]
	}
}

// project returns the coefficients Σ y·P_k / Σ P_k².
func project(values [][]float64, norm, y []float64) []float64 {
	c := make([]float64, len(values))
	for k, p := range values {
		for i := range y {
			c[k] += y[i] * p[i]
		}
		c[k] /= norm[k]
	}
	return c
}

func remainder(values [][]float64, coef, y []float64) []float64 {
	r := append([]float64(nil), y...)
	for k, c := range coef {
		for i := range r {
			r[i] -= c * values[k][i]
		}
	}
	return r
}

// rms returns √(Σr²/dof); 0 without degrees of freedom.
func rms(r []float64, dof int) float64 {
	if dof <= 0 {
		return 0
	}
	var sum float64
	for _, v := range r {
		sum += v * v
	}
	return math.Sqrt(sum / float64(dof))
}

// blockMeans averages times and values over successive blocks of that many
// readings, the last one shorter where they do not come out even.
func blockMeans(c series.Column, size int) (t, v []float64) {
	for i := 0; i < c.Len(); i += size {
		end := min(i+size, c.Len())
		var sumT, sumV float64
		for j := i; j < end; j++ {
			sumT += c.Time[j] - c.Time[i]
			sumV += c.Value[j] - c.Value[i]
		}
		n := float64(end - i)
		t, v = append(t, c.Time[i]+sumT/n), append(v, c.Value[i]+sumV/n)
	}
	return t, v
}
