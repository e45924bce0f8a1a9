package decay

import (
	"math"

	"holdbench/analysis/fit"
)

// fittedBlocks is of how many readings the search for a law is made
// at most; more are averaged in blocks first, which costs a slope about
// 1/fittedBlocks² of its information.
const fittedBlocks = 300

// blocks are means of successive readings, each row multiplied by the root of
// the number of its readings, so that all rows have the noise of one reading.
type blocks struct {
	// t is the mean time as the leak sees it, spread the mean square of the
	// times about it; passed is the mean time after t0.
	t, spread, passed []float64
	// height is the mean pressure above the sink, times root.
	height, root []float64
}

// averaged makes at most that many blocks of equal size, the last one
// smaller where they do not come out even.
func averaged(t, p []float64, x frame, most int) blocks {
	var b blocks
	seen := x.times(t)
	size := (len(t) + most - 1) / most
	for i := 0; i < len(t); i += size {
		end := min(i+size, len(t))
		n := float64(end - i)
		middle, height := mean(seen[i:end]), 0.0
		_, square := aboutMiddle(seen[i:end], middle)
		for _, v := range p[i:end] {
			height += v - x.sink
		}
		b.t, b.spread = append(b.t, middle), append(b.spread, square/n)
		b.root, b.height = append(b.root, math.Sqrt(n)), append(b.height, height/math.Sqrt(n))
	}
	b.passed = b.t
	if x.clock != nil {
		b.passed = nil
		for i := 0; i < len(t); i += size {
			b.passed = append(b.passed, mean(t[i:min(i+size, len(t))]))
		}
	}
	return b
}

// heights are the mean pressures above the sink.
func (b blocks) heights() []float64 {
	out := make([]float64, len(b.t))
	for i := range out {
		out[i] = b.height[i] / b.root[i]
	}
	return out
}

// relativeFall is the slope of the straight line through the blocks over
// their mean height, 1/s, above 0; errNoFall where they do not fall.
func (b blocks) relativeFall() (float64, error) {
	height := b.heights()
	w, _ := slopeWeights(b.t)
	slope, level := weighted(w, height), mean(height)
	if !(slope < 0 && level > 0) {
		return 0, errNoFall
	}
	return -slope / level, nil
}

// tail writes exp(−rate·t), averaged over each block.
func (b blocks) tail(dst []float64, rate float64) {
	for i, t := range b.t {
		dst[i] = b.root[i] * math.Exp(-rate*t) * (1 + rate*rate*b.spread[i]/2)
	}
}

// tailSlope writes the derivative of c·tail by −ln(rate).
func (b blocks) tailSlope(dst, tail []float64, rate, c float64) {
	for i, t := range b.t {
		s := rate * rate * b.spread[i]
		dst[i] = c * tail[i] * (rate*t - s/(1+s/2))
	}
}

// drop takes k times what a drive makes of a leak off dst.
func (b blocks) drop(dst []float64, d *drive, v []float64, k float64) {
	for i, t := range b.passed {
		dst[i] -= k * b.root[i] * d.at(v, t)
	}
}

// separable fits a model to the heights from the start of its nonlinear
// parameters, for noise of standard deviation 1; errors as fit.Separable.
func (b blocks) separable(m fit.SeparableModel, start ...float64) (c vector, unit matrix, err error) {
	s, err := fit.Separable(m, b.height, start, fit.Options{Sigma: 1, MaxIterations: mostTries})
	if err != nil {
		return c, unit, err
	}
	copy(c[:], s.Parameters)
	return c, unitOf(s.Covariance), nil
}
