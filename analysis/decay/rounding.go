package decay

import "math"

// UnknownLag is the standard uncertainty of a lag between probe and liquid
// that is not characterised, s, where the temperature bends.
const UnknownLag float64 = unknownLag

// Rounding returns the standard uncertainty that a reading's resolution leaves
// in Σ g_i·y_i over readings with Gaussian noise while the quantity moves by
// sweep, all in one unit: what a fit states for it. g are the weights on an
// even grid, however many readings it stands for.
func Rounding(g []float64, resolution, noise, sweep float64) float64 {
	var sum, square float64
	for _, w := range g {
		sum += w
		square += w * w
	}
	quantum := quantisation(resolution, math.Hypot(noise, resolution/math.Sqrt(12)))
	if spread := math.Sqrt(float64(len(g)) * square); math.Abs(sum) < 1e-9*spread {
		sum = 0
	}
	mean := sum * sum / float64(len(g))
	return math.Hypot(stepsIn(math.Sqrt(float64(len(g))*max(0, square-mean)), quantum, resolution, sweep), quantum*sum)
}
