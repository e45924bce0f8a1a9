package fit

import "math"

// AICc returns Akaike's information criterion of a least-squares fit with the
// correction for few observations; among models of the same n observations the
// smallest describes them best. A constant that is the same for all is left
// out.
//
//	AICc = n·ln(RSS/n) + 2k + 2k(k+1)/(n−k−1)
//
// rss is Σr² in any one unit, n the number of observations, k that of the
// parameters and of σ, which is estimated too: k = parameters + 1. The
// correction is valid only for n > k + 1: otherwise, and for k < 1 or a
// negative rss, it returns NaN, which is never the smaller of two. An rss of 0
// gives −Inf.
//
// It takes the noise for independent: where it is not, the difference between
// two models is too large by about n over the effective number (AR1Inflation).
//
// Source: [13], information criteria for least squares (mark M).
func AICc(rss float64, n, k int) float64 {
	if !(rss >= 0) || k < 1 || n <= k+1 {
		return math.NaN()
	}
	observations, parameters := float64(n), float64(k)
	return observations*math.Log(rss/observations) + 2*parameters +
		2*parameters*(parameters+1)/(observations-parameters-1)
}
