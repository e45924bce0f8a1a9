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
	apart, scaled := make([]float64, n), make([]float64, 0, n)
	for k := jumpReach; k < n-jumpReach; k++ {
		apart[k] = math.Abs(apartAt(c, k))
		scaled = append(scaled, apart[k])
	}
	slices.Sort(scaled)
	most := jumpSigmas * 1.4826 * scaled[len(scaled)/2]
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

// apartAt is by how much the lines before and after a place miss each other
// there, over what independent noise of standard deviation 1 makes of it.
func apartAt(c series.Column, k int) float64 {
	before, u := carried(c.Time[k-jumpReach:k], c.Value[k-jumpReach:k], c.Time[k])
	after, v := carried(c.Time[k+1:k+1+jumpReach], c.Value[k+1:k+1+jumpReach], c.Time[k])
	return (after - before) / math.Sqrt(u+v)
}

// carried lays a line through readings and carries it to an instant: its value
// there, and the variance for noise of standard deviation 1. The value is
// counted from a reading so that little is lost by rounding.
func carried(t, v []float64, to float64) (value, variance float64) {
	n := float64(len(t))
	var middle, level float64
	for i := range t {
		middle += t[i] - to
		level += v[i] - v[0]
	}
	middle, level = middle/n, level/n
	var square, slope float64
	for i := range t {
		from := t[i] - to - middle
		square += from * from
		slope += from * (v[i] - v[0])
	}
	slope /= square
	return v[0] + level - slope*middle, 1/n + middle*middle/square
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
	return j, own > jumpClear*other
}
