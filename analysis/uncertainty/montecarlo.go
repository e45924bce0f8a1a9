package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Input is one or several quantities that a model depends on, by the
// distribution that is stated of them.
type Input struct {
	size int
	draw func(r *rand.Rand, into []float64)
}

// Of is one quantity that is drawn by a function.
func Of(draw func(r *rand.Rand) float64) Input {
	return Input{1, func(r *rand.Rand, into []float64) { into[0] = draw(r) }}
}

// Normal is a quantity of that value and standard uncertainty u ≥ 0.
//
// Source: [2] 6.4.7.
func Normal(value, u float64) Input {
	return Of(func(r *rand.Rand) float64 { return value + u*r.NormFloat64() })
}

// TScaled is the mean of n normal readings, known by their scatter: value +
// scale·t, where scale is the standard deviation of the mean and dof = n − 1 ≥
// 1. Its standard deviation is scale·√(dof/(dof−2)), and infinite up to 2.
//
// Source: [2] 6.4.9.
func TScaled(value, scale, dof float64) Input {
	return Of(func(r *rand.Rand) float64 {
		if math.IsInf(dof, 1) {
			return value + scale*r.NormFloat64()
		}
		return value + scale*distuv.StudentsT{Sigma: 1, Nu: dof, Src: r}.Rand()
	})
}

// Rectangular is a quantity anywhere between low and high.
//
// Source: [2] 6.4.2.
func Rectangular(low, high float64) Input {
	return Of(func(r *rand.Rand) float64 { return low + (high-low)*r.Float64() })
}

// Triangular is a quantity between low and high, most likely in the middle.
//
// Source: [2] 6.4.5.
func Triangular(low, high float64) Input {
	return Of(func(r *rand.Rand) float64 { return low + (high-low)*(r.Float64()+r.Float64())/2 })
}

// CorrelatedNormal is several quantities with their covariance matrix, of the
// same size as values. It panics if that is not positive definite.
//
// Source: [2] 6.4.8 and C.5 (Cholesky factor).
func CorrelatedNormal(values []float64, covariance mat.Symmetric) Input {
	var factor mat.Cholesky
	if !factor.Factorize(covariance) {
		panic("uncertainty: covariance matrix is not positive definite")
	}
	var lower mat.TriDense
	factor.LTo(&lower)
	z := make([]float64, len(values))
	return Input{len(values), func(r *rand.Rand, into []float64) {
		for i := range z {
			z[i] = r.NormFloat64()
			into[i] = values[i]
			for j := 0; j <= i; j++ {
				into[i] += lower.At(i, j) * z[j]
			}
		}
	}}
}

// Propagate draws the inputs as often as trials says and returns what the
// model makes of them. The model is given the inputs' numbers in their order
// and must not keep them. The same seed gives the same sample.
//
// Source: [2] clause 7.
func Propagate(seed uint64, trials int, model func(x []float64) float64, inputs ...Input) Sample {
	r := rand.New(rand.NewPCG(seed, 101))
	size := 0
	for _, in := range inputs {
		size += in.size
	}
	x, out := make([]float64, size), make([]float64, trials)
	for k := range out {
		at := 0
		for _, in := range inputs {
			in.draw(r, x[at:at+in.size])
			at += in.size
		}
		out[k] = model(x)
	}
	return NewSample(out)
}

// Sample is a distribution as its values in rising order.
type Sample struct{ sorted []float64 }

// NewSample sorts values, which it keeps.
func NewSample(values []float64) Sample {
	slices.Sort(values)
	return Sample{values}
}

// Mean returns the sample's mean.
//
// Source: [2] eq. 16.
func (s Sample) Mean() float64 { return stat.Mean(s.sorted, nil) }

// StdUncertainty returns the sample's standard deviation.
//
// Source: [2] eq. 17.
func (s Sample) StdUncertainty() float64 { return stat.StdDev(s.sorted, nil) }

// Symmetric returns the interval of that level with as much of the sample
// below as above; NaN for a sample too small for it.
//
// Source: [2] 7.7.2.
func (s Sample) Symmetric(level float64) (low, high float64) {
	covered, ok := s.covered(level)
	if !ok {
		return math.NaN(), math.NaN()
	}
	from := (len(s.sorted) - covered + 1) / 2
	return s.sorted[max(from-1, 0)], s.sorted[max(from-1, 0)+covered]
}

// Shortest returns the shortest interval of that level; NaN for a sample too
// small for it.
//
// Source: [2] 7.7.4.
func (s Sample) Shortest(level float64) (low, high float64) {
	covered, ok := s.covered(level)
	if !ok {
		return math.NaN(), math.NaN()
	}
	low, high = s.sorted[0], s.sorted[covered]
	for i := range s.sorted[:len(s.sorted)-covered] {
		if s.sorted[i+covered]-s.sorted[i] < high-low {
			low, high = s.sorted[i], s.sorted[i+covered]
		}
	}
	return low, high
}

// covered is how many steps between neighbours an interval spans.
func (s Sample) covered(level float64) (steps int, ok bool) {
	steps = int(level*float64(len(s.sorted)) + 0.5)
	return steps, level > 0 && level < 1 && steps >= 1 && steps < len(s.sorted)
}
