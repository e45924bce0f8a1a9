package decay

import "math"

// coarse is the ratio of smallest step to scatter from which the readings'
// own step is taken for an unstated resolution.
const coarse = 2.0

// resolutionOf returns the smallest step of a reading: the stated one, or
// else the one that the readings show if it is coarse against their scatter;
// 0 when the readings are finer than their noise.
func resolutionOf(stated float64, values []float64, scatter float64) float64 {
	if stated > 0 {
		return stated
	}
	if step := smallestStep(values); step >= coarse*scatter {
		return step
	}
	return 0
}

// scatterOfDifferences returns the standard deviation of one reading from the
// differences of successive ones, which trend and slow drift do not touch:
// √(mean d²/2) about the mean difference.
func scatterOfDifferences(x []float64) float64 {
	n := len(x) - 1
	if n < 2 {
		return 0
	}
	mean := (x[n] - x[0]) / float64(n)
	var sum float64
	for i := range n {
		d := x[i+1] - x[i] - mean
		sum += d * d
	}
	return math.Sqrt(sum / float64(2*(n-1)))
}

// quantisation returns the standard uncertainty that a resolution q leaves in
// a reading averaged for long while the quantity stands still, where each
// reading carries Gaussian noise σ: the mean over the position within the
// step of the squared conditional mean error,
//
//	e² = Σ_k (q/πk)²/2 · exp(−4π²k²σ²/q²)
//
// q/√12 without noise; nothing is left once σ > q/2, because noise dithers.
//
// scatter is the readings' scatter as seen, quantisation included: σ² =
// scatter² − q²/12.
//
// Source: [2] ch. 4, Fourier series of the rounding error (mark M; checked by
// simulation in the tests).
func quantisation(q, scatter float64) float64 {
	if !(q > 0) {
		return 0
	}
	sigma2 := max(0, scatter*scatter-q*q/12)
	if sigma2 == 0 {
		return q / math.Sqrt(12)
	}
	var sum float64
	for k := 1.0; k <= 50; k++ {
		term := math.Exp(-4*math.Pi*math.Pi*k*k*sigma2/(q*q)) / (2 * math.Pi * math.Pi * k * k)
		sum += term
		if term < 1e-9 {
			break
		}
	}
	return q * math.Sqrt(sum)
}

// movedBy returns the factor by which a reading that moves over the given
// sweep (same unit as q) makes the resolution matter less: a ramp across
// several steps dithers as noise does. 1 up to one step, then 1/steps.
func movedBy(sweep, q float64) float64 {
	if !(q > 0) || !(sweep > q) {
		return 1
	}
	return q / sweep
}

// oneStepInLine is the root mean square of what rounding to steps of 1 leaves
// in the least squares slope times the length, over all positions within the
// step and all sweeps up to one step, without noise. It is more than the 1/√6
// of the difference of two roundings, because a line makes much of a step in
// its middle.
//
// Source: own simulation (mark C; the tests repeat it).
const oneStepInLine = 0.52

// stepsIn returns the standard uncertainty that a reading's steps leave in
// Σ g_i·y_i, Σ g_i = 0: oneStepInLine·q for a slope times the length when
// neither noise nor the reading's own sweep dithers it. spread is √(n·Σg²)
// over n readings; quantum is what the resolution leaves in a long mean.
func stepsIn(spread, quantum, resolution, sweep float64) float64 {
	if quantum == 0 {
		return 0
	}
	// spread is √12 over the length for a slope, and quantum at most q/√12.
	return oneStepInLine * quantum * spread * movedBy(sweep, resolution)
}
