package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// contradictedFrom is from how many standard uncertainties on what the hold
// says of a settling contradicts what is characterised of it.
const contradictedFrom = 2.5

// widenSettling holds a characterised settling where it was characterised, and
// widens each of its doubts to what the hold says against it: what lies
// beside the law has the doubt's course more often than noise and
// temperature make it. The hold never narrows one: a leak that slows a little
// would be taken for settling.
//
// Source: Birge, R. T., Phys. Rev. 40 (1932) 207: doubts that do not explain
// the scatter are widened until they do (mark M).
func (f *fitting) widenSettling() {
	l := f.choice.law()
	if f.liquid == nil {
		return
	}
	var wider []float64
	for k := range f.settled.doubts {
		course := f.settled.curves[1+k]
		free := l.freed(course)
		scale := floats.Dot(free, free)
		if !(scale > leastLeft*floats.Dot(course, course)) {
			wider = append(wider, 1)
			continue
		}
		found := floats.Dot(free, l.residuals) / scale
		std := math.Sqrt(max(l.rss-found*found*scale, 0) / float64(max(len(f.t)-3, 1)))
		floats.Scale(1/scale, free)
		r := f.respond(free)
		others := f.temperatureLines(r)
		for j, line := range f.settled.lines(r.settled) {
			if j != k {
				others = append(others, line)
			}
		}
		other, _ := others.Combined()
		u := math.Sqrt(1 + square(inflated(std/math.Sqrt(scale), l.inflation)) + square(other))
		by := 1.0
		if size := math.Abs(found); size > contradictedFrom*u {
			by = size / u
		}
		wider = append(wider, by)
	}
	for k, by := range wider {
		if by > 1 {
			f.settled.widen(k, by)
		}
	}
}

// widen multiplies a doubt.
func (s *settled) widen(k int, by float64) {
	narrow := s.doubts[k].by
	s.doubts[k].by = func(t float64) float64 { return by * narrow(t) }
	s.doubts[k].Note += ", widened to what this hold says against it"
	floats.Scale(by, s.curves[1+k])
}
