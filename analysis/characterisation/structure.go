package characterisation

import (
	"fmt"
	"math"

	"holdbench/analysis/fit"
)

// longRun is what the memory of residuals does to a fit: the factor (≥ 1) on
// standard uncertainties, and as how many independent values they count. It is
// the larger of what the first autocorrelation says and what the sum of all
// up to the first that is not above 0 says, for a wave remembers for longer
// than its first step shows.
//
// Source: Geyer, C. J., Stat. Sci. 7 (1992) 473, initial positive sequence, in
// its plain form (mark M).
func longRun(residuals []float64) (factor, effective float64) {
	n := len(residuals)
	factor, effective = fit.AR1Inflation(fit.Autocorrelation(residuals), n)
	variance := product(residuals, 0)
	if !(variance > 0) {
		return factor, effective
	}
	sum := 1.0
	for k := 1; k < n/2; k++ {
		c := product(residuals, k)
		if !(c > 0) {
			break
		}
		sum += 2 * c / variance
	}
	return max(factor, math.Sqrt(sum)), min(effective, float64(n)/sum)
}

// product is the mean product of values k places apart.
func product(v []float64, k int) (sum float64) {
	for i := k; i < len(v); i++ {
		sum += v[i] * v[i-k]
	}
	return sum / float64(len(v))
}

// wave is the standard deviation of the slow movement in residuals, beside
// their noise: 0 where successive ones have nothing in common beyond chance.
//
// Source: cov(e_i, e_i+1) of a slow movement beside white noise is its variance
// (mark L); chance is twice the 1/√n of an autocorrelation of nothing.
func wave(residuals []float64) float64 {
	rho := fit.Autocorrelation(residuals)
	if !(rho > 2/math.Sqrt(float64(len(residuals)))) {
		return 0
	}
	return math.Sqrt(rho * product(residuals, 0))
}

// slowly says how the temperature is to move, against a lag in s.
func slowly(lag float64) string {
	return fmt.Sprintf("move the temperature slowly against the lag: each way for several times it, here at least %.0f s, and begin after settling has ended", math.Ceil(slowness*max(math.Abs(lag), leastLag)/10)*10)
}

// How slowly the temperature must move: each way for so many lags, and a lag
// that is not less than so many seconds.
//
// Source: the house's own; a first-order body has then followed to within one
// per cent of what is left.
const (
	slowness = 5
	leastLag = 10.0
)
