package fit

import "math"

// epsilon is the distance from 1 to the next number.
const epsilon = 0x1p-52

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// mean returns the mean of x, len(x) > 0, corrected by the mean of what is
// left, so that the level costs no digits.
func mean(x []float64) float64 {
	n := float64(len(x))
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	m := sum / n
	rest := 0.0
	for _, v := range x {
		rest += v - m
	}
	return m + rest/n
}

func sumOfSquares(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return sum
}

// accumulator sums in twice the working precision: sum is the rounded total,
// lost what rounding took from it.
//
// Source: [4] algorithms Sum2 and Dot2, with the product split by a fused
// multiply-add.
type accumulator struct{ sum, lost float64 }

func (a *accumulator) add(x float64) {
	s := a.sum + x
	z := s - a.sum
	a.lost += (a.sum - (s - z)) + (x - z)
	a.sum = s
}

func (a *accumulator) addProduct(x, y float64) {
	p := x * y
	a.lost += math.FMA(x, y, -p)
	a.add(p)
}

func (a *accumulator) total() float64 { return a.sum + a.lost }
