package decay

import "holdbench/analysis/series"

// mostDrawn is of how many readings the curves are made at most.
const mostDrawn = 1 << 18

// thinOut takes the readings that the curves are made of: all, or every k-th
// where they are very many; and says where each piece is among them.
func (f *fitting) thinOut() {
	n := f.readings.Len()
	stride := (n + mostDrawn - 1) / mostDrawn
	if stride <= 1 {
		f.drawn = f.readings
		stride = 1
	} else {
		f.drawn = every(f.readings, stride)
	}
	for i := range f.pieces {
		p := &f.pieces[i]
		p.fromDrawn, p.endDrawn = (p.fromRead+stride-1)/stride, (p.endRead+stride-1)/stride
	}
}

// every is each stride-th reading of a column, from the first on.
func every(c series.Column, stride int) series.Column {
	out := series.Column{Name: c.Name, Quantity: c.Quantity}
	for i := 0; i < c.Len(); i += stride {
		out.Time, out.Value = append(out.Time, c.Time[i]), append(out.Value, c.Value[i])
	}
	return out
}
