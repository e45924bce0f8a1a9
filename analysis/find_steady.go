package analysis

import (
	"math"
	"slices"
)

// The rules of the steady part; see FindHold.
const (
	steadyParts   = 60 // a stretch is divided into
	leastCut      = 1.0 / 50
	steadyOfFall  = 0.05   // of the line's change over the stretch
	steadyOfLevel = 0.0002 // of the pressure
	freeLoss      = 0.05   // of the pressure: may be cut away in any case
	fastLoss      = 0.15   // of it: may be, where it was lost fast
	restLoss      = 0.01   // of the pressure: still to be lost, after
	restWithin    = 0.1    // of the stretch
	fastRate      = 3.0    // times the line's rate
)

// settled says how the start of the steady part came about.
type settled int

const (
	settledDied settled = iota
	settledNot          // not steady at the first third
	settledLoss         // what was lost may be a leak
)

// steady returns where the steady part of first…last begins, s, and how.
func (tr track) steady(first, last int) (float64, settled) {
	begin, length := tr.t[first], tr.t[last]-tr.t[first]
	if !(length > 0) {
		return begin, settledDied
	}
	start, how := begin+leastCut*length, settledDied
	parts := tr.parts(first, last)
	at, slope, off, ok := tr.middleLine(parts, begin, length)
	if ok {
		bound := max(steadyOfFall*math.Abs(slope)*length, steadyOfLevel*tr.v[first], off)
		from := steadyParts / 3
		if math.Abs(parts[from-1].mean-at(parts[from-1].t)) > bound {
			how = settledNot
		}
		for from > 0 && !(math.Abs(parts[from-1].mean-at(parts[from-1].t)) > bound) {
			from--
		}
		start = max(start, begin+float64(from)/steadyParts*length)
	}
	if how == settledDied && ok && tr.cameToRest(first, start, length, slope) {
		return start, how
	}
	return tr.notPast(first, start, how)
}

// cameToRest reports whether what is lost until start was lost as after an
// overshoot.
func (tr track) cameToRest(first int, start, length, slope float64) bool {
	level, begin := tr.v[first], tr.t[first]
	rest := tr.v[max(first, tr.at(start))]
	early := tr.v[max(first, tr.at(begin+restWithin*length))]
	lost := level - rest
	return lost <= fastLoss*level && early-rest <= restLoss*level && lost >= fastRate*math.Abs(slope)*(start-begin)
}

// notPast moves start back to before more than freeLoss of the pressure was
// lost.
func (tr track) notPast(first int, start float64, how settled) (float64, settled) {
	floor := tr.v[first] * (1 - freeLoss)
	for i := first + 1; i < tr.len() && tr.t[i] <= start; i++ {
		if tr.v[i] < floor {
			return tr.t[i-1], settledLoss
		}
	}
	return start, how
}

// part is one of the equal parts in time of a stretch.
type part struct {
	t, mean float64
	count   int
}

// parts divides first…last; a part without readings has a NaN for its mean.
func (tr track) parts(first, last int) []part {
	begin, length := tr.t[first], tr.t[last]-tr.t[first]
	out := make([]part, steadyParts)
	for i := first; i <= last; i++ {
		p := &out[min(steadyParts-1, int((tr.t[i]-begin)/length*steadyParts))]
		p.t += tr.t[i]
		p.mean += tr.v[i]
		p.count++
	}
	for i := range out {
		out[i].t /= float64(out[i].count)
		out[i].mean /= float64(out[i].count)
	}
	return out
}

// middleLine lays a line through the parts of the middle third: the median of
// the slopes between all pairs, and of the levels that go with it. off is how
// far noise alone takes a part from the line at the start; ok is false where
// there are too few parts.
//
// Source: Sen (1968), J. Am. Stat. Assoc. 63:1379 (mark M).
func (tr track) middleLine(parts []part, begin, length float64) (at func(float64) float64, slope, off float64, ok bool) {
	var used []part
	readings := 0
	for _, p := range parts[steadyParts/3 : 2*steadyParts/3] {
		if p.count > 0 {
			used = append(used, p)
			readings += p.count
		}
	}
	if len(used) < 4 {
		return nil, 0, 0, false
	}
	var slopes, levels []float64
	for i, p := range used {
		for _, q := range used[:i] {
			slopes = append(slopes, (p.mean-q.mean)/(p.t-q.t))
		}
	}
	slope = medianOf(slopes)
	for _, p := range used {
		levels = append(levels, p.mean-slope*(p.t-begin))
	}
	slices.Sort(levels)
	level := levels[len(levels)/2]
	// A line through n readings over a third of the length, carried on by
	// half of the length: its slope's part is √12·(1/2)/(1/3)/√n.
	line := math.Sqrt(12) * 1.5 / math.Sqrt(float64(readings))
	one := 1 / math.Sqrt(float64(readings)/float64(len(used)))
	off = 3 * tr.noise * math.Hypot(line, one)
	return func(t float64) float64 { return level + slope*(t-begin) }, slope, off, true
}
