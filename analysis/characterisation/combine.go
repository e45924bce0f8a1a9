package characterisation

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// Combined is one figure from several runs.
type Combined struct {
	Figure
	// Runs is how many there were.
	Runs int
	// Between is the standard deviation between runs beyond what their own
	// uncertainties explain; 0 where they explain it.
	Between float64
	// Birge is √(χ²/(n−1)) with the runs' own uncertainties: about 1 where they
	// agree; NaN for one run.
	Birge float64
	// Weights of the runs, summing to 1.
	Weights []float64
}

// Combine takes the weighted mean of one figure of several runs, each with
// weight 1/(u² + between²) by what differs from run to run; the variance
// between is that which makes the weighted sum of squares n − 1 (none where it
// is less already). What the instruments bring into every run is added
// undiminished. The degrees of freedom are n − 1 where runs differ, else those
// of the runs together. It panics without a figure.
//
// Source: [3] for weights and variance, [4] for the ratio, [1] G.4.
func Combine(figures []Figure) Combined {
	if len(figures) == 0 {
		panic("characterisation: nothing to combine")
	}
	n := len(figures)
	if n == 1 {
		return Combined{Figure: figures[0], Runs: 1, Birge: math.NaN(), Weights: []float64{1}}
	}
	own := make([]uncertainty.Estimate, n)
	for i, f := range figures {
		own[i] = f.own()
	}
	out := Combined{Runs: n}
	_, chi := weigh(own, 0)
	out.Birge = math.Sqrt(chi / float64(n-1))
	out.Between = between(own)
	value, _ := weigh(own, out.Between*out.Between)
	u, dof := out.spread(own)
	common := 0.0
	for i, f := range figures {
		common += out.Weights[i] * f.Common
	}
	note := "mean of the runs"
	if out.Between > 0 {
		note = "mean of the runs, which differ by more than each says of itself"
	}
	out.Figure = figure(value, figures[0].Quantity,
		uncertainty.Budget{line("runs", u, dof, note)},
		uncertainty.Budget{line("instruments", common, exactly, "the same in every run")})
	return out
}

// weigh returns the weighted mean, and the weighted sum of squares about it.
func weigh(own []uncertainty.Estimate, variance float64) (value, square float64) {
	var total float64
	for _, e := range own {
		w := 1 / (e.StdUncertainty*e.StdUncertainty + variance)
		total += w
		value += w * (e.Value - own[0].Value)
	}
	value = own[0].Value + value/total
	for _, e := range own {
		square += (e.Value - value) * (e.Value - value) / (e.StdUncertainty*e.StdUncertainty + variance)
	}
	return value, square
}

// between is the standard deviation between runs, by halving: the sum of
// squares falls as it grows.
func between(own []uncertainty.Estimate) float64 {
	wanted := float64(len(own) - 1)
	if _, square := weigh(own, 0); !(square > wanted) {
		return 0
	}
	low, high := 0.0, 0.0
	for _, e := range own {
		high += (e.Value - own[0].Value) * (e.Value - own[0].Value)
	}
	for range 200 {
		middle := (low + high) / 2
		if _, square := weigh(own, middle); square > wanted {
			low = middle
		} else {
			high = middle
		}
	}
	return math.Sqrt((low + high) / 2)
}

// spread fills in the weights and returns the mean's standard uncertainty.
func (c *Combined) spread(own []uncertainty.Estimate) (u, dof float64) {
	var total float64
	for _, e := range own {
		w := 1 / (e.StdUncertainty*e.StdUncertainty + c.Between*c.Between)
		c.Weights = append(c.Weights, w)
		total += w
	}
	var budget uncertainty.Budget
	for i, e := range own {
		c.Weights[i] /= total
		budget = append(budget, line("run", c.Weights[i]*e.StdUncertainty, e.DegreesOfFreedom, ""))
	}
	if c.Between > 0 {
		return 1 / math.Sqrt(total), float64(len(own) - 1)
	}
	return budget.Combined()
}

// CombineCorrelation returns the correlation of two combined figures that each
// run gives together with the given correlation: what runs differ by is taken
// as independent.
//
// Source: [1] eq. F.2 and 5.2 for weighted means.
func CombineCorrelation(a, b Combined, first, second []Figure, correlations []float64) float64 {
	var covariance float64
	for i, r := range correlations {
		covariance += a.Weights[i] * b.Weights[i] * r * first[i].StdUncertainty * second[i].StdUncertainty
	}
	r := covariance / (a.StdUncertainty * b.StdUncertainty)
	if math.IsNaN(r) {
		return 0
	}
	return min(max(r, -mostCorrelation), mostCorrelation)
}

// mostCorrelation keeps a correlation inside what a file can state.
const mostCorrelation = 0.999
