package decay

import (
	"math"
	"slices"

	"holdbench/analysis/series"
)

const (
	// calmedOver is over how many successive readings the pressure counts as
	// straight, and fewestCalmed from how many of those on tails are looked at;
	// at most calmedSample of them, evenly taken.
	calmedOver, fewestCalmed, calmedSample = 25, 8, 400
	// heavyFrom is from which excess kurtosis on, and from how many of its
	// standard deviations, noise has heavy tails.
	//
	// Source: its variance is 24/n for Gaussian noise (mark M).
	heavyFrom, heavySigmas = 1.0, 5.0
	// huber is from how many standard deviations on a reading pulls no more:
	// 95 % as good as least squares for Gaussian noise. Rounds find the lines.
	//
	// Source: Huber, P. J., Ann. Math. Statist. 35 (1964) 73 (mark M).
	huber, calmingRounds = 1.345, 12
)

// calmed returns readings whose noise has heavy tails with these drawn in, so
// that an outlier costs itself only, and the excess kurtosis of the noise; the
// readings themselves where the tails are not clearly heavy, or where their
// steps are as coarse as the noise. Over each few successive readings a
// straight line is laid that no reading pulls by more than huber standard
// deviations; what a reading strays from it is cut there and divided by the
// share that is not cut. Least squares through these give the estimate and the
// uncertainty of the robust fit.
//
// Source: Huber's modified residuals: Huber, Robust Statistics, Wiley 1981, 7.8
// and eq. 6.5 of chapter 7 (mark M; coverage is tested).
func calmed(c series.Column, step float64) (out series.Column, excess float64) {
	count := c.Len() / calmedOver
	if count < fewestCalmed {
		return c, 0
	}
	sample := straysOverLines(c, min(count, calmedSample), count)
	if len(sample) < fewestCalmed*calmedOver {
		return c, 0
	}
	var second, fourth float64
	for _, r := range sample {
		second, fourth = second+r*r, fourth+r*r*r*r
	}
	n := float64(len(sample))
	excess = n*fourth/(second*second) - 3
	std := math.Sqrt(second / n)
	if !(excess >= heavyFrom) || !(excess >= heavySigmas*math.Sqrt(24/n)) || max(step, smallestStep(c.Value)) > std/2 {
		return c, excess
	}
	for i, r := range sample {
		sample[i] = math.Abs(r)
	}
	slices.Sort(sample)
	most := huber * sample[len(sample)/2] / quartile
	return drawnIn(c, most), excess
}

// straysOverLines returns what readings stray from their lines, over that many
// lines of count; without those where the pressure bends or jumps, and nothing
// where it does so on more than a quarter of them.
func straysOverLines(c series.Column, lines, count int) (sample []float64) {
	for k := range lines {
		from := k * count / lines * calmedOver
		l := lineOver(c, from, from+calmedOver)
		if l.misses(c, from, from+calmedOver) {
			continue
		}
		for i := from; i < from+calmedOver; i++ {
			sample = append(sample, c.Value[i]-l.at(c.Time[i]))
		}
	}
	if 4*len(sample) < 3*lines*calmedOver {
		return nil
	}
	return sample
}

// misses reports whether readings stray from a line by more than from their
// neighbours: then they bend, jump or remember. A reading less the mean of its
// neighbours has 1.5 times the variance of independent noise.
func (l chord) misses(c series.Column, from, to int) bool {
	var own, near float64
	for i := from + 1; i < to-1; i++ {
		d := c.Value[i] - (c.Value[i-1]+c.Value[i+1])/2
		r := c.Value[i] - l.at(c.Time[i])
		near, own = near+d*d/1.5, own+r*r
	}
	return own > missedBy*near
}

// missedBy is by how much more readings stray from a line than from their
// neighbours where they do not follow it.
const missedBy = 2.0

// quartile is the median absolute deviation of Gaussian noise over its
// standard deviation.
const quartile = 0.6745

// drawnIn cuts what readings stray from their lines at most, and divides by
// the share that is not cut.
func drawnIn(c series.Column, most float64) series.Column {
	out := c
	out.Value = append([]float64(nil), c.Value...)
	lines := c.Len() / calmedOver
	on := make([]float64, c.Len())
	whole, followed := 0, 0
	for k := range lines {
		from, to := k*calmedOver, (k+1)*calmedOver
		if k == lines-1 {
			to = c.Len()
		}
		for range calmingRounds {
			l := lineOver(out, from, to)
			for i := from; i < to; i++ {
				on[i] = l.at(c.Time[i])
				out.Value[i] = on[i] + min(max(c.Value[i]-on[i], -most), most)
			}
		}
		if lineOver(out, from, to).misses(out, from, to) { // not noise: left as it is
			copy(out.Value[from:to], c.Value[from:to])
			clear(on[from:to])
			continue
		}
		for i := from; i < to; i++ {
			followed++
			if math.Abs(c.Value[i]-on[i]) < most {
				whole++
			}
		}
	}
	share := float64(whole) / float64(max(followed, 1))
	for i := range out.Value {
		if on[i] == 0 { // not followed
			continue
		}
		out.Value[i] = on[i] + (out.Value[i]-on[i])/share
	}
	return out
}

// chord is a straight line by its mean point and slope.
type chord struct{ t, p, slope float64 }

func (l chord) at(t float64) float64 { return l.p + l.slope*(t-l.t) }

// lineOver lays a straight line through the readings from…to−1.
func lineOver(c series.Column, from, to int) chord {
	l := chord{t: meanFrom(c.Time[from:to]), p: meanFrom(c.Value[from:to])}
	var square, with float64
	for i := from; i < to; i++ {
		d := c.Time[i] - l.t
		square, with = square+d*d, with+d*(c.Value[i]-l.p)
	}
	if square > 0 {
		l.slope = with / square
	}
	return l
}
