package fit

import "math"

// The correlations that Autocorrelation gives at most: beyond them a series
// says nothing of its own memory.
const (
	leastAutocorrelation = -0.99
	mostAutocorrelation  = 0.999
)

// Lag1 returns the autocorrelation at lag 1 as it stands in the data,
//
//	r1 = Σ (x_i − x̄)(x_{i+1} − x̄) / Σ (x_i − x̄)²
//
// 0 for a constant or empty series, NaN where there is a NaN.
//
// Source: [5] univariate sets, "lag-1 autocorrelation coefficient".
func Lag1(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	m := mean(x)
	cross, square, last := 0.0, 0.0, 0.0
	for _, v := range x {
		d := v - m
		cross += last * d
		square += d * d
		last = d
	}
	if square == 0 {
		return 0
	}
	return cross / square
}

// Autocorrelation returns an estimate of the noise's autocorrelation at lag 1
// from a fit's residuals in time order: r1 lifted by its bias, (1 + 4·r1)/n,
// and kept between −0.99 and 0.999. It is 0 for residuals that are all 0 and
// NaN where there is a NaN.
//
// Source: [3].
func Autocorrelation(residuals []float64) (rho float64) {
	if len(residuals) == 0 || sumOfSquares(residuals) == 0 {
		return 0
	}
	return lifted(Lag1(residuals), len(residuals))
}

// lifted takes the bias off the autocorrelation r1 of n residuals.
func lifted(r1 float64, n int) (rho float64) {
	rho = r1 + (1+4*r1)/float64(n)
	return min(max(rho, leastAutocorrelation), mostAutocorrelation)
}

// AR1Inflation returns by which factor the standard uncertainty of a mean or
// a slope from n readings grows when their noise is AR(1) with correlation
// rho, and how many independent readings they are worth. The factor is never
// under 1 and the number never over n: a negative correlation, which may be
// an accident of few readings, must not narrow an interval. A NaN gives NaN
// for both. An interval uses effective − 2 degrees of freedom for a line; not
// above 0 they say nothing. Noise of a white and a correlated part together
// has a longer memory than its lag 1 shows: MemoryOf knows it.
//
//	factor = √((1+ρ)/(1−ρ))        effective = n·(1−ρ)/(1+ρ)
//
// Source: [6], the variance of a mean of a long AR(1) series.
func AR1Inflation(rho float64, n int) (factor, effective float64) {
	factor = max(1, math.Sqrt((1+rho)/(1-rho)))
	effective = min(float64(n), float64(n)*(1-rho)/(1+rho))
	return factor, effective
}
