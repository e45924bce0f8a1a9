package decay

import "holdbench/analysis/series"

func (f *fitting) takePressure() {
	d := &f.diagnostics
	all := f.in.Pressure.Window(f.in.Start, f.in.End).Valid()
	f.readings, d.SetAside, d.Suspect = WithoutSpikes(all)
	if d.SetAside > 0 {
		f.set = except(all, f.readings)
	}
	step := f.in.Transducer.Resolution
	d.Jumps = Jumps(f.readings, step)
	f.takeSegments()
	d.Jumps = f.unlessPumped(d.Jumps)
	f.withoutZeroShift()
	d.Readings = f.readings.Len()
	fitted := f.readings
	if !f.interrupted() {
		calm, tails := calmed(f.readings, step)
		if len(d.Jumps) > 0 && len(Jumps(calm, step)) == 0 {
			d.Jumps = nil // outliers in a row
		}
		if len(d.Jumps) == 0 { // a step would look like noise with heavy tails
			fitted, d.Tails = calm, tails
			f.calm = calm.Len() > 0 && &calm.Value[0] != &f.readings.Value[0]
		}
	}
	switch {
	case f.interrupted():
		fitted = f.gatherPieces()
	case f.gathered():
		fitted = evenBlocks(fitted, mostFitted)
	}
	f.p = fitted.Value
	f.t = make([]float64, len(f.p))
	for i, t := range fitted.Time {
		f.t[i] = t - f.in.Start
	}
}

// mostFitted is of how many readings a fit is made at most, where at least
// four times as many are averaged in blocks first: that costs a slope about
// 1/mostFitted² of its information.
const mostFitted = 4096

// gathered: the readings are averaged in blocks.
func (f *fitting) gathered() bool { return f.readings.Len() >= 4*mostFitted }

// evenBlocks averages a column in that many blocks, whose numbers of readings
// differ by at most one. blocks ≤ c.Len().
func evenBlocks(c series.Column, blocks int) series.Column {
	out := series.Column{Name: c.Name, Quantity: c.Quantity,
		Time: make([]float64, blocks), Value: make([]float64, blocks)}
	n := c.Len()
	for b := range blocks {
		from, to := b*n/blocks, (b+1)*n/blocks
		out.Time[b], out.Value[b] = meanFrom(c.Time[from:to]), meanFrom(c.Value[from:to])
	}
	return out
}

// meanFrom is the mean of values near the first of them.
func meanFrom(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x - v[0]
	}
	return v[0] + sum/float64(len(v))
}

// except returns the readings of all that are not among those kept, both in
// order of time.
func except(all, kept series.Column) (out series.Column) {
	j := 0
	for i, t := range all.Time {
		if j < kept.Len() && kept.Time[j] == t {
			j++
			continue
		}
		out.Time, out.Value = append(out.Time, t), append(out.Value, all.Value[i])
	}
	return out
}
