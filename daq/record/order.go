package record

import "sort"

// longestRise returns the indices of a longest strictly increasing
// subsequence of x, which leaves out as few places as possible: one wrong
// time costs one row, not all that follow it.
func longestRise(x []float64) []int {
	var tails []int // index of the smallest end of a rise of each length
	before := make([]int, len(x))
	for i := range x {
		n := sort.Search(len(tails), func(k int) bool { return x[tails[k]] >= x[i] })
		before[i] = -1
		if n > 0 {
			before[i] = tails[n-1]
		}
		if n == len(tails) {
			tails = append(tails, i)
		} else {
			tails[n] = i
		}
	}
	for k := len(tails) - 1; k > 0; k-- {
		tails[k-1] = before[tails[k]]
	}
	return tails
}

// pick returns the places of x with the given indices.
func pick(x []float64, indices []int) []float64 {
	out := make([]float64, len(indices))
	for k, i := range indices {
		out[k] = x[i]
	}
	return out
}
