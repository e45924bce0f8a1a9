package report

import (
	"math"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// readingLines is how many lines stand for a whole recording.
const readingLines = 48

// readings is a circuit's recording in short: it is parted into equal times,
// and of each the mean of every column is given, and of the trapped pressure
// the extremes.
func (c *composer) readings(r Recorded) block {
	if len(r.Trapped.Time) == 0 {
		return block{}
	}
	from, to := r.Trapped.Time[0], r.Trapped.Time[len(r.Trapped.Time)-1]
	pressure, temperature := c.display.Unit(si.Pressure), c.display.Unit(si.Temperature)
	in := func(what string, u si.Unit) column {
		return column{title: what + " [" + u.Symbol + "]", kind: numbers}
	}
	columns := []column{
		{title: "from\u00a0[s]", kind: numbers}, {title: "to\u00a0[s]", kind: numbers},
		in("trapped, mean", pressure), in("lowest", pressure), in("highest", pressure), in("feed, mean", pressure), in("temperature, mean", temperature),
	}
	p, t := newDigest(r.Trapped, from, to), newDigest(r.Temperature, from, to)
	feed := newDigest(r.Feed, from, to)
	step := (to - from) / readingLines
	decimals := si.Decimals(step) + 1
	pd, td := si.Decimals(1e3/pressure.Factor), 2 // a hundred pascals, a hundredth of a degree
	var rows []row
	for i := range p {
		at := from + float64(i)*step
		rows = append(rows, row{cells: []string{
			number(at, decimals), number(at+step, decimals),
			p[i].mean(pressure, pd), shownOr(p[i].low, pressure, pd), shownOr(p[i].high, pressure, pd),
			feed[i].mean(pressure, pd), t[i].mean(temperature, td),
		}})
	}
	title := "Readings in short"
	if r.Circuit != "" && len(c.f.Recorded) > 1 {
		title += ", circuit " + r.Circuit
	}
	return c.table(title, columns, rows, c.textWidth)
}

// digest is what is left of a stretch of readings.
type digest struct {
	sum       float64
	n         int
	low, high float64
}

// newDigest parts from…to into readingLines stretches; the last has its end.
func newDigest(col series.Column, from, to float64) []digest {
	parts := make([]digest, readingLines)
	for i := range parts {
		parts[i].low, parts[i].high = math.NaN(), math.NaN()
	}
	for i, v := range col.Value {
		k := int((col.Time[i] - from) / (to - from) * readingLines)
		if math.IsNaN(v) || col.Time[i] < from || col.Time[i] > to {
			continue
		}
		parts[min(max(k, 0), readingLines-1)].take(v)
	}
	return parts
}

func (d *digest) take(v float64) {
	if d.n == 0 || v < d.low {
		d.low = v
	}
	if d.n == 0 || v > d.high {
		d.high = v
	}
	d.sum += v
	d.n++
}

func (d digest) mean(u si.Unit, decimals int) string {
	return shownOr(d.sum/float64(d.n), u, decimals) // 0/0 is NaN
}

// shownOr writes a figure in its unit, a dash for NaN.
func shownOr(v float64, u si.Unit, decimals int) string {
	if math.IsNaN(v) {
		return none
	}
	return number(u.FromSI(v), decimals)
}
