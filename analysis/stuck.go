package analysis

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/series"
)

const (
	// stuckRun is the shortest run of identical readings that is looked at.
	stuckRun = 20
	// stuckMissed is how many changes a run must have missed, were the noise
	// the same as outside it and the value in the middle of a step.
	stuckMissed = 20.0
	// stuckWide is how many changes to and fro of more than a step, stuckSteps
	// of it, show noise of the size of a step.
	stuckWide, stuckSteps = 3, 1.5
	// saturatedRun is how many successive readings at an end of the range
	// are no accident.
	saturatedRun = 3
)

// movesFreely sees that a channel is neither stuck nor at an end of its range
// during the hold.
func movesFreely(h Hold, c series.Column, what string, resolution, low, high float64) finding {
	window := c.Window(h.Start, h.End).Valid()
	advice := "look at the " + what + " channel, and repeat"
	if run := saturated(window.Value, low, high); run >= saturatedRun {
		return finding{fmt.Sprintf("the %s channel is saturated: %d successive readings at an end of its range", what, run), advice}
	}
	var since series.Column
	if h.Locked < h.Start {
		since = c.Window(h.Locked, math.Nextafter(h.Start, math.Inf(-1))).Valid()
	}
	run, is := stuck(window.Value, since.Value, resolution)
	switch {
	case !is:
		return finding{}
	case run == window.Len():
		return finding{fmt.Sprintf("the %s channel is stuck: its reading never changed during the hold", what),
			advice + "; if its resolution is that coarse, state it in the bench file"}
	}
	return finding{fmt.Sprintf("the %s channel is stuck: %d successive readings are identical", what, run), advice}
}

// saturated returns the longest run of readings at an end of the range. A low
// end at or below 0 gauge is no end for a pressure: an empty circuit is there.
func saturated(values []float64, low, high float64) int {
	longest, run := 0, 0
	for _, v := range values {
		if v >= high || (low > 0 && v <= low) {
			run++
			longest = max(longest, run)
		} else {
			run = 0
		}
	}
	return longest
}

// stuck returns the longest run of identical readings and whether it is far
// longer than noise and resolution make plausible. How often a live reading
// changes is taken from the readings outside the run, and where they are too
// few from those since locking. A reading that never changed at all is stuck
// unless its resolution (0: not stated) explains it.
func stuck(values, since []float64, resolution float64) (run int, is bool) {
	n := len(values)
	if n < stuckRun {
		return 0, false
	}
	from, to := longestRun(values)
	run = to - from
	if run < stuckRun {
		return run, false
	}
	outside := restlessness(values[:from], values[to:])
	if outside.readings < stuckRun {
		outside = restlessness(values[:from], values[to:], since)
	}
	if outside.readings < stuckRun || outside.step == 0 {
		return run, run == n && !(resolution > 0)
	}
	return run, float64(run)*outside.changing() > stuckMissed
}

// longestRun returns the first and one past the last index of the longest
// run of identical values.
func longestRun(v []float64) (from, to int) {
	begin := 0
	for i := 1; i <= len(v); i++ {
		if i < len(v) && same(v[i], v[begin]) {
			continue
		}
		if i-begin > to-from {
			from, to = begin, i
		}
		begin = i
	}
	return from, to
}

// same reading, differently rounded.
func same(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Abs(b) }

// restless says how a reading moves to and fro: its smallest step and the sum
// of squared changes that go back on the change before, so that a ramp or a
// settling tail read in steps counts for nothing; wide is how many of these are
// of more than a step.
type restless struct {
	readings, wide int
	step, square   float64
}

// restlessness looks at the parts of a reading, each for itself.
func restlessness(parts ...[]float64) (r restless) {
	for _, v := range parts {
		r.readings += len(v)
		for i := 1; i < len(v); i++ {
			if d := math.Abs(v[i] - v[i-1]); !same(v[i], v[i-1]) && (r.step == 0 || d < r.step) {
				r.step = d
			}
		}
	}
	for _, v := range parts {
		last := 0.0
		for i := 1; i < len(v); i++ {
			d := v[i] - v[i-1]
			if same(v[i], v[i-1]) {
				continue
			}
			if d*last < 0 {
				r.square += d * d
				if math.Abs(d) > stuckSteps*r.step {
					r.wide++
				}
			}
			last = d
		}
	}
	return r
}

// changing returns the chance that the next reading differs, in the middle of
// a step, where it is smallest: 2·Φ(−q/2σ) for Gaussian noise. A reading that
// only ever flickers between two neighbouring steps, as one does at the border
// between them, may have noise far below a step: 0.
func (r restless) changing() float64 {
	if r.wide < stuckWide {
		return 0
	}
	sigma2 := r.square/float64(2*r.readings) - r.step*r.step/12
	if !(sigma2 > 0) {
		return 0
	}
	return math.Erfc(r.step / math.Sqrt(8*sigma2))
}

// intervalsTaken is from about how many intervals a median is taken.
const intervalsTaken = 1000

// medianInterval returns the median time between successive readings, from
// some of them evenly taken where there are many; 0 under two readings.
func medianInterval(t []float64) float64 {
	if len(t) < 2 {
		return 0
	}
	var d []float64
	for i := 0; i+1 < len(t); i += 1 + len(t)/intervalsTaken {
		d = append(d, t[i+1]-t[i])
	}
	slices.Sort(d)
	return d[len(d)/2]
}
