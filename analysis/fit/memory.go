package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Memory is what the residuals of a fit say of how long their noise
// remembers.
type Memory struct {
	// Autocorrelation at lag 1, as by the function of that name.
	Autocorrelation float64
	// Inflation is the factor by which the standard uncertainty of a mean or a
	// slope grows over that of independent noise; at least 1.
	Inflation float64
	// Effective is how many independent readings the readings are worth,
	// n/Inflation².
	Effective float64
	// DegreesOfFreedom of an inflated standard uncertainty, at least 1:
	// Effective less the parameters, or, where the slowest waves of the
	// residuals rule, the number of these.
	DegreesOfFreedom float64
}

// What MemoryOf looks at.
const (
	// memoryPairs of neighbouring lags say how fast a correlation dies away.
	memoryPairs = 4
	// memoryClear: an autocorrelation is taken for one from so many standard
	// deviations of what white noise shows, 1/√n.
	memoryClear = 2
	// mostDecay is the share of the last reading's correlated noise that the
	// next one keeps at most.
	mostDecay = 0.98
	// slowWaves of the residuals say what noise is slower than that; they
	// count from slowClear standard deviations over what is known already.
	slowWaves = 8
	slowClear = 0.5
	// slowBlocks: so many blocks of readings, at least, carry the waves.
	slowBlocks = 256
)

// MemoryOf returns the memory of the noise from residuals, in time order at
// even intervals, of a fit of that many parameters. The noise of a chain of
// instruments is a mixture: a white part, one that remembers a few readings,
// and one as slow as the hold. The inflation is the largest of three:
//
//	AR(1)              √((1+ρ1)/(1−ρ1))
//	AR(1) and white    √(1 + 2ρ1/(1−φ))        φ = Σ ρ_k·ρ_{k+1} / Σ ρ_k²
//	slow               √(mean of the slowest waves' power / variance)
//
// In the second ρ_k are corrected for what the fit takes off the residuals,
// 1 − ρ_k = (1 − r_k·n/(n−k))·(1 − parameters·inflation²/n), and k goes over
// the first few lags at which they stand clear of 0. The waves of the third
// are cosines of a half, two halves … of the series, from the first that the
// parameters leave alone; they count where they are clearly more than what the
// first two say, and bring their own few degrees of freedom. A NaN gives NaN
// for all.
//
// Source: [3] and [6] for the first; autocorrelation of ARMA(1,1): Box, G. E. P.
// and Jenkins, G. M., Time Series Analysis, 1970, 3.4 (mark M); cosines:
// Lazarus, E., Lewis, D. J., Stock, J. H. and Watson, M. W., J. Bus. Econ.
// Stat. 36 (2018) 541 (mark M).
func MemoryOf(residuals []float64, parameters int) Memory {
	n := len(residuals)
	square := sumOfSquares(residuals)
	if square == 0 {
		return Memory{Inflation: 1, Effective: float64(n), DegreesOfFreedom: max(float64(n-parameters), 1)}
	}
	r := autocorrelations(residuals)
	m := Memory{Autocorrelation: lifted(r[1], n)}
	m.Inflation, m.Effective = AR1Inflation(m.Autocorrelation, n)
	if mixed := mixedInflation(r, n, parameters); mixed > m.Inflation {
		m.Inflation, m.Effective = mixed, float64(n)/(mixed*mixed)
	}
	m.DegreesOfFreedom = max(m.Effective-float64(parameters), 1)
	if math.IsNaN(m.Inflation) || parameters < 1 || parameters+slowWaves > n/4 {
		return m
	}
	variance := square / float64(n-parameters)
	slow := slowPower(residuals, parameters) / variance
	if slow > m.Inflation*m.Inflation*(1+slowClear*math.Sqrt(2.0/slowWaves)) {
		m.Inflation, m.Effective = math.Sqrt(slow), float64(n)/slow
		m.DegreesOfFreedom = max(min(m.Effective-float64(parameters), slowWaves), 1)
	}
	return m
}

// lags are autocorrelations at the first lags, from 0 on.
type lags [memoryPairs + 2]float64

// mixedInflation is the inflation of n readings by a white and an AR(1) part
// together, from the autocorrelations of the residuals; 1 where none stands
// clear of 0.
func mixedInflation(r lags, readings, parameters int) float64 {
	if readings < 2*memoryPairs {
		return 1
	}
	n := float64(readings)
	clear, square := memoryClear/math.Sqrt(n), 1.0
	var rho lags
	for range 2 { // what the fit takes off depends on the memory itself
		taken := min(float64(parameters)*square/n, 0.5)
		for k := 1; k < len(rho); k++ {
			rho[k] = 1 - (1-r[k]*n/(n-float64(k)))*(1-taken)
		}
		if !(rho[1] > clear) {
			return 1
		}
		pairs, own := 0.0, 0.0
		for k := 1; k <= memoryPairs && rho[k] > clear; k++ {
			pairs += rho[k] * rho[k+1]
			own += rho[k] * rho[k]
		}
		phi := min(max(pairs/own, rho[1]), mostDecay)
		square = 1 + 2*rho[1]/(1-phi)
	}
	return math.Sqrt(square)
}

// autocorrelations returns those of x, 0 beyond lag 0 for a constant.
func autocorrelations(x []float64) (r lags) {
	m := mean(x)
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = v - m
	}
	square := floats.Dot(d, d)
	if square == 0 {
		return lags{1}
	}
	for k := 0; k < min(len(r), len(d)); k++ {
		r[k] = floats.Dot(d[k:], d[:len(d)-k]) / square
	}
	return r
}

// slowPower is the mean power of the slowest waves of residuals from the one
// of so many half periods on: the variance that independent readings would
// have to have for it.
func slowPower(residuals []float64, first int) (power float64) {
	per := max(len(residuals)/slowBlocks, 1)
	blocks := make([]float64, len(residuals)/per)
	for j := range blocks {
		for _, v := range residuals[j*per : (j+1)*per] {
			blocks[j] += v
		}
	}
	for k := first; k < first+slowWaves; k++ {
		angle := math.Pi * float64(k) / float64(len(blocks))
		at, before, turn := math.Cos(angle/2), math.Cos(angle/2), 2*math.Cos(angle)
		along := 0.0
		for _, v := range blocks {
			along += v * at
			at, before = turn*at-before, at
		}
		power += along * along * 2 / float64(len(blocks)*per)
	}
	return power / slowWaves
}
