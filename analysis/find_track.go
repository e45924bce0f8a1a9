package analysis

import (
	"math"
	"slices"

	"holdbench/analysis/series"
)

const (
	// mostBlocks is into how many blocks a longer record is gathered.
	mostBlocks = 40_000
	// trimmedFrom is the size of a block from which its lowest and highest
	// reading are left out of its mean.
	trimmedFrom = 5
	// beyondSense: readings of this size and more would overflow in sums.
	beyondSense = 1e150
)

// track is a pressure record in blocks of equal numbers of readings (of one
// reading each where the record is short), without what is not a number and
// without single spikes. It is looked at many times.
type track struct {
	// t is the middle of a block; from and to are the times of its first and
	// last valid reading.
	t, from, to []float64
	// v is the pressure, a running median over the blocks' trimmed means.
	v []float64
	// noise is the standard deviation of a block before that median; top is
	// the highest v; step the median distance of blocks in time.
	noise, top, step float64
	// size is the number of readings in a block.
	size int
}

func (tr track) len() int { return len(tr.t) }

// duration is the time from the first to the last valid reading.
func (tr track) duration() float64 { return tr.to[tr.len()-1] - tr.from[0] }

// reduce makes a track of a column, in one pass over its readings.
func reduce(c series.Column) track {
	n := len(c.Time)
	tr := track{size: max(1, (n+mostBlocks-1)/mostBlocks)}
	blocks := (n + tr.size - 1) / tr.size
	tr.t, tr.v = make([]float64, 0, blocks), make([]float64, 0, blocks)
	tr.from, tr.to = make([]float64, 0, blocks), make([]float64, 0, blocks)
	last := math.Inf(-1)
	for lo := 0; lo < n; lo += tr.size {
		hi := min(lo+tr.size, n)
		mean, first, end := gather(c.Time[lo:hi], c.Value[lo:hi])
		if !finite(mean) || !(first > last) || !(end >= first) {
			continue
		}
		last = end
		tr.from, tr.to = append(tr.from, first), append(tr.to, end)
		tr.t, tr.v = append(tr.t, first+(end-first)/2), append(tr.v, mean)
	}
	if tr.len() == 0 {
		return tr
	}
	tr.smooth()
	return tr
}

// gather returns the trimmed mean of a block's valid readings, NaN where it
// has none, and the times of its first and last.
func gather(t, v []float64) (mean, first, last float64) {
	sum, lowest, highest := 0.0, math.Inf(1), math.Inf(-1)
	count, begin, end := 0, -1, 0
	for i, x := range v {
		if !(math.Abs(x) < beyondSense) {
			continue
		}
		sum += x
		if x < lowest {
			lowest = x
		}
		if x > highest {
			highest = x
		}
		if begin < 0 {
			begin = i
		}
		count, end = count+1, i
	}
	switch {
	case count == 0:
		return math.NaN(), 0, 0
	case count >= trimmedFrom:
		mean = (sum - lowest - highest) / float64(count-2)
	default:
		mean = sum / float64(count)
	}
	return mean, t[begin], t[end]
}

// smooth takes the noise from the blocks and then their running median.
func (tr *track) smooth() {
	raw := tr.v
	tr.v = runningMedian(raw, tr.reach())
	tr.top = slices.Max(tr.v)
	tr.noise = noiseOf(raw, 0.3*tr.top)
	steps := make([]float64, 0, sampled)
	every := 1 + tr.len()/sampled
	for i := every; i < tr.len(); i += every {
		steps = append(steps, tr.t[i]-tr.t[i-1])
	}
	tr.step = medianOf(steps)
}

// reach is how many blocks on either side the running median takes.
func (tr track) reach() int {
	switch {
	case tr.size >= trimmedFrom || tr.len() < 50:
		return 1
	case tr.len() < 2000:
		return 2
	}
	return 3
}

// runningMedian returns the median of each value and reach neighbours on
// either side; fewer on both sides at the ends.
func runningMedian(v []float64, reach int) []float64 {
	out := make([]float64, len(v))
	var near [7]float64
	for i := range v {
		r := min(reach, i, len(v)-1-i)
		window := near[:2*r+1]
		copy(window, v[i-r:i+r+1])
		for j := 1; j < len(window); j++ {
			for k := j; k > 0 && window[k] < window[k-1]; k-- {
				window[k], window[k-1] = window[k-1], window[k]
			}
		}
		out[i] = window[r]
	}
	return out
}

// rounding is what differs by sums alone, as a share.
const rounding = 1e-12

// sampled is from about how many places a median is taken.
const sampled = 2000

// noiseOf is the standard deviation that a value's distance from the mean of
// its neighbours shows, in which an even rise or fall has no part; taken where
// the pressure is above the floor, and not less than the smallest such distance
// (half of the resolution of a coarse record).
func noiseOf(v []float64, floor float64) float64 {
	every := 1 + len(v)/sampled
	smallest := math.Inf(1)
	off := make([]float64, 0, sampled)
	for i := 1; i+1 < len(v); i += every {
		if v[i] < floor {
			continue
		}
		d := math.Abs(v[i] - (v[i-1]+v[i+1])/2)
		off = append(off, d)
		if d > rounding*v[i] {
			smallest = min(smallest, d)
		}
	}
	if math.IsInf(smallest, 1) {
		return 0
	}
	return max(1.4826/math.Sqrt(1.5)*medianOf(off), smallest)
}

// medianOf sorts x and returns its median, 0 for none.
func medianOf(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)/2]
}

// at returns the last place not after the time, -1 where there is none.
func (tr track) at(time float64) int {
	i, found := slices.BinarySearch(tr.t, time)
	if found {
		return i
	}
	return i - 1
}
