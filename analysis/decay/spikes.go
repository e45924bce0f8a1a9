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
// there are too many of them. Where nothing is left out, kept shares memory
// with c.
//
// A reading is compared with the median of itself and five neighbours on
// either side, so that a ramp, a settling tail or a step that lasts is no
// spike. It must stray by more than spikeSigmas of its neighbours' successive
// differences too. The scatter is 1.70 times the median absolute deviation from that
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
	step := smallestStep(c.Value)
	most := spikeSigmas * max(madToSigma*typical(sampledStrays(c.Value), step), consistentSteps*step)
	most *= 1 + steppedRounding
	var found []int
	for i := range c.Value {
		if amongNeighbours(c.Value, i, most) {
			continue
		}
		if s := stray(c.Value, i); s > most && s > spikeSigmas*stepsAround(c.Value, i) {
			found = append(found, i)
		}
	}
	switch {
	case len(found) == 0:
		return c, 0, 0
	case float64(len(found)) > spikeShare*float64(n):
		return c, 0, len(found)
	}
	kept = series.Column{Name: c.Name, Quantity: c.Quantity,
		Time: without(c.Time, found), Value: without(c.Value, found)}
	return kept, len(found), 0
}

// without copies v without the places given in rising order.
func without(v []float64, places []int) []float64 {
	out := make([]float64, 0, len(v)-len(places))
	from := 0
	for _, i := range places {
		out = append(out, v[from:i]...)
		from = i + 1
	}
	return append(out, v[from:]...)
}

// amongNeighbours reports at little cost that a reading is no spike: as many
// of its neighbours lie within most of it as put the median there too.
func amongNeighbours(v []float64, i int, most float64) bool {
	if i < spikeReach || i >= len(v)-spikeReach {
		return false
	}
	near := 0
	for j := i - spikeReach; j <= i+spikeReach; j++ {
		if j != i && math.Abs(v[j]-v[i]) <= most {
			near++
			if near == spikeReach {
				return true
			}
		}
	}
	return false
}

// stray returns a value's distance from the median of itself and its
// neighbours, spikeReach on either side; at the ends, where there are none on
// one side, from the straight line through the first (last) two such medians
// that share no value. A curve strays from that line, so distances at the ends
// count a third. len(v) ≥ spikeFewest.
func stray(v []float64, i int) float64 {
	const reach = spikeReach
	n := len(v)
	beyond := i - (n - 1 - reach)
	switch {
	case i < reach:
		first, second := medianAround(v, reach), medianAround(v, 3*reach+1)
		return spikeAtEnds * math.Abs(v[i]-(first-(second-first)*float64(reach-i)/(2*reach+1)))
	case beyond > 0:
		last, before := medianAround(v, n-1-reach), medianAround(v, n-2-3*reach)
		return spikeAtEnds * math.Abs(v[i]-(last+(last-before)*float64(beyond)/(2*reach+1)))
	}
	return math.Abs(v[i] - medianAround(v, i))
}

// medianAround returns the median of a value and spikeReach neighbours on
// either side, which there must be.
func medianAround(v []float64, i int) float64 {
	var window [2*spikeReach + 1]float64
	for k, x := range v[i-spikeReach : i+spikeReach+1] {
		for ; k > 0 && x < window[k-1]; k-- {
			window[k] = window[k-1]
		}
		window[k] = x
	}
	return window[spikeReach]
}

// stepsAround returns the median of the differences between successive values
// about a place, without sign: a quick clean ramp strays from its medians at
// its ends, but not by many of its own steps.
func stepsAround(v []float64, i int) float64 {
	from := min(max(i-spikeFewest/2, 0), len(v)-spikeFewest)
	var steps [spikeFewest - 1]float64
	for k := range steps {
		steps[k] = math.Abs(v[from+k+1] - v[from+k])
	}
	slices.Sort(steps[:])
	return steps[len(steps)/2]
}

// sampledStrays returns the strays of about mostSampled values evenly taken,
// of all where there are fewer.
func sampledStrays(v []float64) []float64 {
	stride := max(1, len(v)/mostSampled)
	var sample []float64
	for i := 0; i < len(v); i += stride {
		sample = append(sample, stray(v, i))
	}
	return sample
}

// typical returns the median of deviations that come in the given steps (0:
// in none), each taken as spread evenly over half a step on either side, but
// not below 0. It sorts the sample.
func typical(sample []float64, step float64) float64 {
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
