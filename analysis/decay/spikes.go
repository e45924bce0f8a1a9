package decay

import (
	"math"
	"slices"
	"sort"

	"holdbench/analysis/series"
)

// A spike differs from the median of its neighbourhood by more than
// spikeSigmas robust standard deviations. They are set aside where they are
// at most spikeShare of the readings; more of them are no accident, and stay.
const (
	spikeSigmas     = 6.0
	spikeShare      = 0.01
	spikeReach      = 5    // readings on either side
	spikeFewest     = 22   // below so many readings nothing is set aside
	madToSigma      = 1.70 // 1.4826 for Gaussian noise, over the 0.87 that a running median leaves of it
	spikeAtEnds     = 1.0 / 3
	consistentSteps = 0.5 // of the smallest step: the least that counts as scatter
	// A deviation of a whole number of steps is that but for rounding.
	steppedRounding = 1e-6
)

// WithoutSpikes returns the column's valid readings without single spikes,
// how many were set aside, and how many look like spikes but stay because
// there are too many of them.
//
// A reading is compared with the median of itself and five neighbours on
// either side, so that a ramp, a settling tail or a step that lasts is no
// spike. The scatter is 1.70 times the median absolute deviation from that
// running median, and not less than half the reading's smallest step. A
// reading that moves in steps as coarse as its noise makes deviations of 0, 1,
// 2 … steps, whose plain median is 0 or 1 and says little: each deviation is
// taken as spread evenly over its step.
//
// Source: [4] for the scale (mark M); the median of grouped figures is common
// practice (mark P); factor and share are the house's own.
func WithoutSpikes(c series.Column) (kept series.Column, aside, suspect int) {
	c = c.Valid()
	n := c.Len()
	if n < spikeFewest {
		return c, 0, 0
	}
	off := fromRunningMedian(c.Value)
	step := smallestStep(c.Value)
	most := spikeSigmas * max(madToSigma*typical(off, step), consistentSteps*step)
	most *= 1 + steppedRounding
	found := 0
	for _, d := range off {
		if d > most {
			found++
		}
	}
	switch {
	case found == 0:
		return c, 0, 0
	case float64(found) > spikeShare*float64(n):
		return c, 0, found
	}
	kept = series.Column{Name: c.Name, Quantity: c.Quantity}
	for i, v := range c.Value {
		if off[i] <= most {
			kept.Time = append(kept.Time, c.Time[i])
			kept.Value = append(kept.Value, v)
		}
	}
	return kept, found, 0
}

// fromRunningMedian returns each value's distance from the median of itself
// and its neighbours, spikeReach on either side; at the ends, where there are
// none on one side, from the straight line through the first (last) two such
// medians that share no value. A curve strays from that line, so distances at
// the ends count a third. len(v) ≥ spikeFewest.
func fromRunningMedian(v []float64) []float64 {
	const reach = spikeReach
	n := len(v)
	medians := runningMedian(v)
	first, second := medians[reach], medians[3*reach+1]
	last, before := medians[n-1-reach], medians[n-2-3*reach]
	off := make([]float64, n)
	for i, x := range v {
		reference := medians[i]
		weight := 1.0
		switch beyond := i - (n - 1 - reach); {
		case i < reach:
			reference, weight = first-(second-first)*float64(reach-i)/(2*reach+1), spikeAtEnds
		case beyond > 0:
			reference, weight = last+(last-before)*float64(beyond)/(2*reach+1), spikeAtEnds
		}
		off[i] = weight * math.Abs(x-reference)
	}
	return off
}

// runningMedian returns the medians over spikeReach neighbours on either
// side; 0 nearer to the ends. The window is kept sorted and moved along.
func runningMedian(v []float64) []float64 {
	medians := make([]float64, len(v))
	window := make([]float64, 0, 2*spikeReach+2)
	for i, x := range v {
		j := len(window)
		window = append(window, x)
		for ; j > 0 && window[j-1] > x; j-- {
			window[j] = window[j-1]
		}
		window[j] = x
		if len(window) > 2*spikeReach+1 {
			gone, k := v[i-2*spikeReach-1], 0
			for window[k] != gone {
				k++
			}
			window = append(window[:k], window[k+1:]...)
		}
		if len(window) == 2*spikeReach+1 {
			medians[i-spikeReach] = window[spikeReach]
		}
	}
	return medians
}

// typical returns the median of deviations that come in the given steps (0:
// in none), each taken as spread evenly over half a step on either side, but
// not below 0; from about mostSampled values evenly taken where there are
// more.
func typical(x []float64, step float64) float64 {
	stride := max(1, len(x)/mostSampled)
	var sample []float64
	for i := 0; i < len(x); i += stride {
		sample = append(sample, x[i])
	}
	slices.Sort(sample)
	median := sample[len(sample)/2]
	low, high := max(0, median-step/2), median+step/2
	below := sort.SearchFloat64s(sample, low)
	within := sort.SearchFloat64s(sample, high) - below
	if within == 0 {
		return median
	}
	share := (float64(len(sample))/2 - float64(below)) / float64(within)
	return low + min(max(share, 0), 1)*(high-low)
}

// mostSampled is from how many values a median is taken.
const mostSampled = 500

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
