package decay

import (
	"math"
	"slices"

	"holdbench/analysis/series"
)

// A spike differs from the median of its neighbourhood by more than
// spikeSigmas robust standard deviations. They are set aside where they are
// at most spikeShare of the readings; more of them are no accident, and stay.
const (
	spikeSigmas     = 6.0
	spikeShare      = 0.01
	spikeReach      = 5  // readings on either side
	spikeFewest     = 20 // below so many readings nothing is set aside
	madToSigma      = 1.4826
	consistentSteps = 0.5 // of the smallest step: the least that counts as scatter
)

// WithoutSpikes returns the column's valid readings without single spikes,
// how many were set aside, and how many look like spikes but stay because
// there are too many of them.
//
// A reading is compared with the median of itself and up to five neighbours
// on either side, so that a ramp, a settling tail or a step that lasts is no
// spike. The scatter is 1.4826 times the median absolute deviation from that
// running median, and not less than half the reading's smallest step.
//
// Source: Hampel (1974), J. Am. Stat. Assoc. 69:383, the median absolute
// deviation as a scale (mark M); factor and share are the house's own.
func WithoutSpikes(c series.Column) (kept series.Column, aside, suspect int) {
	c = c.Valid()
	n := c.Len()
	if n < spikeFewest {
		return c, 0, 0
	}
	off := make([]float64, n)
	var near [2*spikeReach + 1]float64
	for i, v := range c.Value {
		lo, hi := max(i-spikeReach, 0), min(i+spikeReach+1, n)
		off[i] = math.Abs(v - median(near[:copy(near[:], c.Value[lo:hi])]))
	}
	sorted := slices.Clone(off)
	slices.Sort(sorted)
	scale := max(madToSigma*sorted[n/2], consistentSteps*smallestStep(c.Value))
	found := n - searchAbove(sorted, spikeSigmas*scale)
	switch {
	case found == 0:
		return c, 0, 0
	case float64(found) > spikeShare*float64(n):
		return c, 0, found
	}
	kept = series.Column{Name: c.Name, Quantity: c.Quantity}
	for i, v := range c.Value {
		if off[i] <= spikeSigmas*scale {
			kept.Time = append(kept.Time, c.Time[i])
			kept.Value = append(kept.Value, v)
		}
	}
	return kept, found, 0
}

// searchAbove returns the index of the first sorted value above x.
func searchAbove(sorted []float64, x float64) int {
	i, _ := slices.BinarySearchFunc(sorted, x, func(v, x float64) int {
		if v > x {
			return 1
		}
		return -1
	})
	return i
}

// median sorts its argument in place. It panics if there is none.
func median(x []float64) float64 {
	for i := 1; i < len(x); i++ {
		for j := i; j > 0 && x[j] < x[j-1]; j-- {
			x[j], x[j-1] = x[j-1], x[j]
		}
	}
	return x[len(x)/2]
}

// smallestStep returns the smallest difference between successive values that
// is not rounding; 0 when the values never move.
func smallestStep(x []float64) float64 {
	least := math.Inf(1)
	for i := 1; i < len(x); i++ {
		d := math.Abs(x[i] - x[i-1])
		if d > rounding*math.Abs(x[i]) && d < least {
			least = d
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// rounding is the relative difference below which two readings are the same
// number, differently rounded.
const rounding = 1e-12
