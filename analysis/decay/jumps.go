package decay

import (
	"math"
	"slices"

	"holdbench/analysis/series"
)

// Jump is a step of a reading from one level to another within a reading or
// two, on both sides of which it goes on as before: what a transducer's zero
// does when it is knocked, and no steady leak.
type Jump struct {
	// At is the instant in s, Within the time between the readings on either
	// side of it.
	At, Within float64
	// Size is the change in the column's unit, above 0 upwards.
	Size float64
}

// The rules of Jumps.
const (
	// jumpReach is of how many readings, or blocks of them, the lines on
	// either side are laid.
	jumpReach = 8
	// jumpScales are looked at, each of blocks jumpBlocks times as long.
	jumpScales, jumpBlocks = 3, 3
	// fewestForJumps is below how many readings or blocks nothing is looked at.
	fewestForJumps = 96
	// jumpSigmas is by how many robust standard deviations a jump stands out
	// from the differences between lines elsewhere; jumpClear by how many times
	// its own change from the largest other near it.
	jumpSigmas, jumpClear = 7.0, 1.5
	// jumpSteps is how many steps of the reading a jump takes at the least.
	jumpSteps = 2.5
	// jumpStays is of how many of the jumpReach readings on either side that lie
	// on that side's own half of the jump, and jumpLasts which share of it the
	// medians of both sides lie apart: of outliers in a row most readings do not
	// go with it.
	jumpStays, jumpLasts = 7, 0.5
	// jumpCourse is from how many readings on either side the course is taken that
	// a jump interrupts.
	jumpCourse = 4 * jumpReach
)

// Jumps finds the jumps of a column without gaps and spikes, in order of time;
// resolution is the reading's smallest step (0: as the readings show).
//
// A line is laid through eight readings before and one through eight after
// each reading, and both are carried to it: a steady course, and one that
// bends evenly, lets them meet. Where they do not, by far more than elsewhere,
// and where the reading itself changes within its two neighbours by more than
// anywhere near, it has jumped. The same is done with means of three and of
// nine readings, which see smaller jumps. Where readings are very many, blocks
// of them stand for readings.
//
// Source: own simulation of false alarms and of detection (mark C; the tests
// repeat it).
func Jumps(c series.Column, resolution float64) []Jump {
	step := max(resolution, smallestStep(c.Value))
	if c.Len() >= 4*mostFitted {
		c = evenBlocks(c, mostFitted)
	}
	var found []Jump
	for range jumpScales {
		if c.Len() < fewestForJumps {
			break
		}
		for _, j := range jumpsAt(c, step) {
			near := func(k Jump) bool {
				return math.Abs(k.At-j.At) <= jumpReach*max(k.Within, j.Within)
			}
			if !slices.ContainsFunc(found, near) {
				found = append(found, j)
			}
		}
		c = evenBlocks(c, c.Len()/jumpBlocks)
	}
	slices.SortFunc(found, func(a, b Jump) int {
		if a.At < b.At {
			return -1
		}
		return 1
	})
	return found
}

// jumpsAt finds jumps at one scale.
func jumpsAt(c series.Column, step float64) (found []Jump) {
	n := c.Len()
	apart := missesOf(c)
	most := jumpSigmas * 1.4826 * medianOf(apart[jumpReach:n-jumpReach])
	for k := jumpReach; k < n-jumpReach; k++ {
		if !(apart[k] > most) || apart[k] < slices.Max(apart[k-jumpReach:k+jumpReach+1]) {
			continue
		}
		if j, ok := jumpNear(c, k); ok && math.Abs(j.Size) > jumpSteps*step {
			found = append(found, j)
		}
	}
	return found
}

// missesOf is by how much the lines before and after each place miss each other
// there, without sign, over what independent noise of standard deviation 1 makes
// of it; 0 where there is none on one side. Each line serves twice, carried
// forward to the place after its readings and back to the one before them.
func missesOf(c series.Column) []float64 {
	n := c.Len()
	apart, variance := make([]float64, n), make([]float64, n)
	for from := 0; from+jumpReach <= n; from++ {
		to := from + jumpReach
		l := runOver(c.Time[from:to], c.Value[from:to])
		if to+jumpReach < n {
			v, u := l.carried(c.Time[to])
			apart[to], variance[to] = v-c.Value[to], u
		}
		if before := from - 1; before >= jumpReach {
			v, u := l.carried(c.Time[before])
			apart[before] = math.Abs(v-c.Value[before]-apart[before]) / math.Sqrt(variance[before]+u)
		}
	}
	return apart
}

// run is a line through successive readings: its middle, and the sum of squares
// of their times about it. The number is jumpReach.
type run struct{ t, p, slope, square float64 }

// runOver lays it; the value is counted from a reading so that little is lost by
// rounding.
func runOver(t, v []float64) run {
	var l run
	for i := range t {
		l.t += t[i] - t[0]
		l.p += v[i] - v[0]
	}
	l.t, l.p = l.t/jumpReach, l.p/jumpReach
	for i := range t {
		from := t[i] - t[0] - l.t
		l.square += from * from
		l.slope += from * (v[i] - v[0])
	}
	l.slope /= l.square
	l.t, l.p = l.t+t[0], l.p+v[0]
	return l
}

// carried is its value at an instant, and the variance for noise of standard
// deviation 1.
func (l run) carried(to float64) (value, variance float64) {
	from := to - l.t
	return l.p + l.slope*from, 1.0/jumpReach + from*from/l.square
}

// medianOf is the median of numbers, the upper one of two, which it leaves as
// they are.
func medianOf(v []float64) float64 {
	v = append([]float64(nil), v...)
	low, high, k := 0, len(v)-1, len(v)/2
	for low < high { // what lies beyond the middle's side is not ordered
		pivot := v[low+(high-low)/2]
		i, j := low, high
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return v[k]
		}
	}
	return v[k]
}

// jumpNear tells whether the reading itself changes about a place, from the
// neighbour before to the one after, by far more than about any other place
// near it that does not share in the change; less what it changes on the
// average.
func jumpNear(c series.Column, k int) (j Jump, ok bool) {
	change := func(i int) float64 { return c.Value[i+1] - c.Value[i-1] }
	took := func(i int) float64 { return c.Time[i+1] - c.Time[i-1] }
	var rates [2*jumpReach - 1]float64
	for i := range rates {
		at := k - jumpReach + 1 + i
		rates[i] = change(at) / took(at)
	}
	sorted := rates
	slices.Sort(sorted[:])
	usual := sorted[len(sorted)/2]
	own, other := 0.0, 0.0
	at := k
	for i := k - jumpReach + 1; i < k+jumpReach; i++ {
		stray := math.Abs(change(i) - usual*took(i))
		switch {
		case i >= k-1 && i <= k+1:
			if stray > own {
				own, at = stray, i
			}
		case i < k-2 || i > k+2:
			other = max(other, stray)
		}
	}
	j = Jump{At: c.Time[at], Within: took(at), Size: change(at) - usual*took(at)}
	if !(own > jumpClear*other) {
		return j, false
	}
	apart, ok := lasts(c, at, j.Size)
	j.Size *= apart
	return j, ok
}

// lasts tells whether readings about a place lie apart by a jump of that size
// as most of them go, less a steady course, and by which share of it. The
// course is that of some more readings: what dies away after an outlier is no
// course.
func lasts(c series.Column, at int, size float64) (apart float64, ok bool) {
	first, end := max(at-jumpCourse, 1), min(at+jumpCourse, c.Len()-1)
	rates := make([]float64, 0, end-first)
	for i := first; i < end; i++ {
		rates = append(rates, (c.Value[i+1]-c.Value[i-1])/(c.Time[i+1]-c.Time[i-1]))
	}
	usual := medianOf(rates)
	level := func(from, to int) (out []float64) {
		for i := max(from, 0); i < min(to, c.Len()); i++ {
			out = append(out, (c.Value[i]-c.Value[at]-usual*(c.Time[i]-c.Time[at]))/size)
		}
		slices.Sort(out)
		return out
	}
	before, after := level(at-jumpReach, at), level(at+1, at+1+jumpReach)
	low, high := before[len(before)/2], after[len(after)/2]
	middle := (low + high) / 2
	stay := func(side []float64, own func(v float64) bool) bool {
		count := 0
		for _, v := range side {
			if own(v) {
				count++
			}
		}
		return count+jumpReach-jumpStays >= len(side)
	}
	return high - low, high-low > jumpLasts &&
		stay(before, func(v float64) bool { return v < middle }) && stay(after, func(v float64) bool { return v > middle })
}
