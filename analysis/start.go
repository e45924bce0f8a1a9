package analysis

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"holdbench/analysis/decay"
	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

const (
	// startShare is the part of a hold from which its start pressure is taken,
	// startReadings the fewest readings where there are so many.
	startShare, startReadings = 10, 12
	// mostAtStart is the most readings: they say enough.
	mostAtStart = 20_000
	// fewestOnLine is how far that part is shortened where it is not straight.
	fewestOnLine = 3
)

// level is a pressure at one instant, noise reduced, Pa.
type level struct {
	value float64
	// doubt is what noise may have done to it at signLevel, sigma the standard
	// deviation of one reading.
	doubt, sigma float64
}

// startLevel is the measured pressure at t0: a line through the hold's first
// readings, as far as they lie on one. A start that bends sharply must not pay
// for itself with a wide allowance, so the allowance comes from how
// neighbouring readings scatter, not from how they miss the line. False where
// there are too few readings.
func startLevel(h Hold) (level, bool) {
	c := h.Trapped.Window(h.Start, h.End).Valid()
	n := c.Len()
	m := min(max(n/startShare, startReadings), n, mostAtStart)
	if m < fewestOnLine {
		return level{}, false
	}
	t := make([]float64, m)
	for i := range t {
		t[i] = c.Time[i] - h.Start
	}
	p := despiked(c.Value[:m])
	sigma, dof := scatter(c, m)
	for ; ; m = max(m/2, fewestOnLine) {
		line, err := fit.Line(t[:m], p[:m])
		if err != nil {
			return level{}, false
		}
		if bends(line, sigma) && m > fewestOnLine {
			continue
		}
		out := level{value: line.Coefficients[0], sigma: sigma}
		out.doubt = 1e-9*math.Abs(out.value) + h.Transducer.Resolution/2
		if line.ResidualStd > 0 && sigma > 0 {
			out.doubt += uncertainty.T(signLevel, dof) * sigma * line.StdUncertainty(0) / line.ResidualStd
		}
		return out, true
	}
}

// despiked puts the median of itself and its neighbours in each reading's
// place; the first and last are held against a line through the next two. A
// single spike goes; a slope, however steep and however short, stays, which
// decay.WithoutSpikes takes for spikes. len(v) ≥ 3.
//
// Source: Tukey, J. W., Exploratory Data Analysis, 1977: running medians of 3
// and their end values (mark M).
func despiked(v []float64) []float64 {
	n := len(v)
	out := make([]float64, n)
	for i := 1; i+1 < n; i++ {
		out[i] = medianOf3(v[i-1], v[i], v[i+1])
	}
	second, last := min(2, n-2), n-1
	beforeLast := max(n-3, 1)
	out[0] = medianOf3(v[0], out[1], 3*out[1]-2*out[second])
	out[last] = medianOf3(v[last], out[last-1], 3*out[last-1]-2*out[beforeLast])
	return out
}

func medianOf3(a, b, c float64) float64 {
	return max(min(a, b), min(max(a, b), c))
}

// bends reports whether readings miss their line by more than their scatter
// sigma explains at signLevel.
//
// Source: ν·s²/σ² is chi-squared with ν degrees of freedom (mark C).
func bends(line fit.Linear, sigma float64) bool {
	dof := float64(line.DegreesOfFreedom)
	most := sigma * math.Sqrt(distuv.ChiSquared{K: dof}.Quantile(signLevel)/dof)
	return line.ResidualStd > most+1e-9*math.Abs(line.Coefficients[0])
}

// scatter is the standard deviation of one reading from second differences,
// which neither a level nor a slope enters: those after the first m readings,
// where a start that bends has come to rest, or all where few are left. Of n
// second differences of white noise 18/35·n are independent.
//
// Source: var(x₁ − 2x₂ + x₃) = 6σ²; the degrees of freedom from their
// autocorrelations −2/3 and 1/6 (mark C).
func scatter(c series.Column, m int) (sigma, dof float64) {
	rest := c.Window(c.Time[m-1], math.Inf(1))
	if rest.Len() <= startReadings {
		rest = c
	}
	rest, _, _ = decay.WithoutSpikes(rest)
	v := rest.Value
	if len(v) < fewestOnLine {
		return 0, 1
	}
	var sum float64
	for i := 2; i < len(v); i++ {
		d := v[i-2] - 2*v[i-1] + v[i]
		sum += d * d
	}
	n := float64(len(v) - 2)
	return math.Sqrt(sum / (6 * n)), max(1, n*18/35)
}
