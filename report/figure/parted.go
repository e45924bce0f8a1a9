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
	steps := make([]float64, len(x)-1)
	for i := range steps {
		steps[i] = x[i+1] - x[i]
	}
	sorted := slices.Sorted(slices.Values(steps))
	usual := sorted[len(sorted)/2]
	for i, s := range steps {
		beside := math.Inf(1)
		if i > 0 {
			beside = steps[i-1]
		}
		if i+1 < len(steps) {
			beside = math.Min(beside, steps[i+1])
		}
		if s > gapSteps*usual && s > gapSteps*beside {
			gaps = append(gaps, i+1)
		}
	}
	return gaps
}
