package figure

import (
	"math"
	"slices"
)

// gapSteps is how many usual steps a line bridges at most.
const gapSteps = 5

// Parted returns the points of a line with a NaN put into each gap, so that no
// straight line is drawn where nothing was read. A gap is a step of more than
// five times the column's median step that is also more than five times the
// shorter of its two neighbours, so that a record whose rate changes on the
// way stays a line. x rises and len(x) == len(y); a line without a gap comes
// back as it is, without copying.
func Parted(x, y []float64) (px, py []float64) {
	gaps := gapsOf(x)
	if len(gaps) == 0 {
		return x, y
	}
	px, py = make([]float64, 0, len(x)+len(gaps)), make([]float64, 0, len(x)+len(gaps))
	from := 0
	for _, g := range gaps {
		px, py = append(px, x[from:g]...), append(py, y[from:g]...)
		px, py = append(px, (x[g-1]+x[g])/2), append(py, math.NaN())
		from = g
	}
	return append(px, x[from:]...), append(py, y[from:]...)
}

// gapsOf returns the places of the points that stand behind a gap.
func gapsOf(x []float64) (gaps []int) {
	if len(x) < 3 {
		return nil
	}
	usual := usualStep(x)
	for i := 1; i < len(x); i++ {
		step := x[i] - x[i-1]
		if step <= gapSteps*usual {
			continue // nearly every one
		}
		beside := math.Inf(1)
		if i > 1 {
			beside = x[i-1] - x[i-2]
		}
		if i+1 < len(x) {
			beside = math.Min(beside, x[i+1]-x[i])
		}
		if step > gapSteps*beside {
			gaps = append(gaps, i)
		}
	}
	return gaps
}

// mostSteps is how many steps are looked at for the usual one.
const mostSteps = 2001

// usualStep is the median step, of a long record that of a part spread evenly
// over it. len(x) ≥ 2.
func usualStep(x []float64) float64 {
	stride := 1 + (len(x)-2)/mostSteps
	var steps []float64
	for i := 1; i < len(x); i += stride {
		steps = append(steps, x[i]-x[i-1])
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}
