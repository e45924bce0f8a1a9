package figure

import "math"

// Decimate returns the points of a line with at most a smallest and a largest
// value for each of `columns` equal columns of low…high, in their order, so
// that no extreme is lost however few columns there are. x rises and
// len(x) == len(y). One point on either side of the window is kept, so that
// the line runs to its edges; a NaN in y stays as one NaN, which breaks the
// line. Lines that are short enough come back as they are, without copying.
func Decimate(x, y []float64, low, high float64, columns int) (dx, dy []float64) {
	x, y = window(x, y, low, high)
	if len(x) <= 2*columns || columns < 1 || !(low < high) {
		return x, y
	}
	d := decimator{x: x, y: y, least: -1, most: -1}
	width := (high - low) / float64(columns)
	edge := math.Inf(-1) // where the column ends
	for i, at := range x {
		if at >= edge {
			d.flush()
			edge = low + (math.Floor((at-low)/width)+1)*width
		}
		if d.least >= 0 && y[i] >= y[d.least] && y[i] <= y[d.most] {
			continue // most readings are no extremes
		}
		d.take(i)
	}
	d.flush()
	return d.dx, d.dy
}

// window cuts a line to low…high and one point more on either side.
func window(x, y []float64, low, high float64) (wx, wy []float64) {
	from, to := 0, len(x)
	for from < len(x) && x[from] < low {
		from++
	}
	for to > from && x[to-1] > high {
		to--
	}
	from, to = max(from-1, 0), min(to+1, len(x))
	return x[from:to], y[from:to]
}

// decimator holds the places of one column's extremes.
type decimator struct {
	x, y        []float64
	least, most int
	dx, dy      []float64
}

func (d *decimator) take(i int) {
	switch {
	case math.IsNaN(d.y[i]):
		d.flush()
		if n := len(d.dy); n == 0 || !math.IsNaN(d.dy[n-1]) {
			d.put(i)
		}
	case d.least < 0:
		d.least, d.most = i, i
	case d.y[i] < d.y[d.least]:
		d.least = i
	case d.y[i] > d.y[d.most]:
		d.most = i
	}
}

func (d *decimator) flush() {
	if d.least < 0 {
		return
	}
	first, second := min(d.least, d.most), max(d.least, d.most)
	d.put(first)
	if second != first {
		d.put(second)
	}
	d.least, d.most = -1, -1
}

func (d *decimator) put(i int) {
	d.dx = append(d.dx, d.x[i])
	d.dy = append(d.dy, d.y[i])
}
