package decay

import (
	"math"
	"slices"

	"holdbench/analysis/series"
)

// Segment is a part of a hold in which nothing was pumped. Times in s since
// the start of the recording.
type Segment struct {
	// Start and End are the segment's own: over this time the unit was held.
	Start, End float64
	// From is where its readings are taken from, Start ≤ From < End: what
	// comes before is the liquid's cooling after it was pumped up.
	From float64
}

// The rules of Segments. The house's own (mark P).
const (
	// repumpShare is what a pressure rises by, of itself, when it is pumped up
	// again, and repumpTime within what time, s: a room does not warm a unit so
	// quickly.
	repumpShare, repumpTime = 0.02, 60.0
	// repumpSigmas is what it rises by at the least, in standard deviations of
	// the reading.
	repumpSigmas = 12.0
	// repumpCooling is for how long readings are left out after it, s, but for
	// no more than coolingShare of the segment; where the warming after
	// pressurising is characterised, for coolingTimes its time constant, but
	// for no more than half.
	repumpCooling, coolingShare, coolingTimes = 120.0, 1.0 / 3, 3.0
	// shortShare is of the longest segment what another has at the least.
	shortShare = 0.1
	// climbTime is of the longest segment what pumping takes at the most: what
	// rises as slowly as it falls swings.
	climbTime = 0.2
	// fewestInSegment is how many readings a segment has at the least.
	fewestInSegment = 3
)

// Segments finds where the pressure of a hold without spikes was pumped up
// again, and returns the parts between, two at the least; nil where it never
// was. A pressure that rises by 2 % of itself and by 12 standard deviations of
// its noise within a minute, or from one reading to the next, and far quicker
// than it is held between, was pumped up.
func Segments(c series.Column, warming *Warming) []Segment {
	if c.Len() >= 4*mostFitted {
		c = evenBlocks(c, mostFitted)
	}
	climbs := repumps(c)
	if len(climbs) == 0 {
		return nil
	}
	var out []Segment
	first := 0
	add := func(last int) {
		if last-first+1 >= fewestInSegment {
			out = append(out, Segment{Start: c.Time[first], End: c.Time[last], From: c.Time[first]})
		}
	}
	for _, k := range climbs {
		add(k.from)
		first = k.to
	}
	add(c.Len() - 1)
	out, longest := longEnough(out)
	if len(out) < 2 || longestClimb(c, climbs) > climbTime*longest {
		return nil
	}
	for i := range out {
		if out[i].Start > c.Time[0] {
			out[i].From += CoolingTime(out[i].End-out[i].Start, warming)
		}
	}
	return out
}

// longEnough leaves out segments that are far shorter than the longest: what
// rises from the beginning on was not interrupted.
func longEnough(all []Segment) (out []Segment, longest float64) {
	for _, s := range all {
		longest = max(longest, s.End-s.Start)
	}
	for _, s := range all {
		if s.End-s.Start >= shortShare*longest {
			out = append(out, s)
		}
	}
	return out, longest
}

// longestClimb is the longest time that pumping took, s.
func longestClimb(c series.Column, climbs []climb) (longest float64) {
	for _, k := range climbs {
		longest = max(longest, c.Time[k.to]-c.Time[k.from])
	}
	return longest
}

// CoolingTime is for how long readings are left out at the beginning of a
// segment of that length after a re-pump, s; warming is what is characterised of
// it, nil for nothing.
func CoolingTime(length float64, warming *Warming) float64 {
	if warming != nil && warming.TimeConstant.Value > 0 {
		return min(coolingTimes*warming.TimeConstant.Value, length/2)
	}
	return min(repumpCooling, coolingShare*length)
}

// climb is a rise from one place to another.
type climb struct{ from, to int }

// repumps finds where a pressure was pumped up.
func repumps(c series.Column) (found []climb) {
	n := c.Len()
	if n < 2*fewestInSegment {
		return nil
	}
	clear := repumpSigmas * quietScatter(c.Value)
	var highest []int // places of falling pressure ahead, a queue
	ahead := 0
	for i := 0; i+1 < n; i++ {
		for ahead+1 < n && (ahead <= i || c.Time[ahead+1] <= c.Time[i]+repumpTime) {
			ahead++
			for len(highest) > 0 && c.Value[highest[len(highest)-1]] <= c.Value[ahead] {
				highest = highest[:len(highest)-1]
			}
			highest = append(highest, ahead)
		}
		for highest[0] <= i {
			highest = highest[1:]
		}
		top := highest[0]
		rise := c.Value[top] - c.Value[i]
		if !(rise >= max(repumpShare*math.Abs(c.Value[i]), clear)) {
			continue
		}
		k := pumped(c.Value, i, top)
		if last := len(found) - 1; last >= 0 && k.from <= found[last].to {
			found[last].to = k.to
		} else {
			found = append(found, k)
		}
		i = max(i, k.to-1)
	}
	return found
}

// pumped narrows a rise between two places to where it begins and where it
// ends.
func pumped(v []float64, from, to int) climb {
	low, high := slices.Min(v[from:to+1]), v[to]
	begins := to
	for begins > from && v[begins] > low+climbShare*(high-low) {
		begins--
	}
	return climb{begins, to}
}

// climbShare is within which share of a rise of its lowest reading a pressure
// has not begun to rise.
const climbShare = 0.05

// quietScatter is the standard deviation of one reading from the median of
// the differences of successive ones, of some of them evenly taken; not less
// than half of the smallest of these.
func quietScatter(v []float64) float64 {
	stride := max(1, len(v)/mostSampled)
	var changes []float64
	least := math.Inf(1)
	for i := 0; i+1 < len(v); i += stride {
		d := math.Abs(v[i+1] - v[i])
		changes = append(changes, d)
		if d > rounding*math.Abs(v[i]) {
			least = min(least, d)
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	slices.Sort(changes)
	return max(1.4826*changes[len(changes)/2]/math.Sqrt2, consistentSteps*least)
}
