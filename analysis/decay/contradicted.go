package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// contradictedFrom is from how many standard uncertainties on what the hold
// says of a settling contradicts what is characterised of it.
const contradictedFrom = 2.0

// widenSettling holds a characterised settling where it was characterised, and
// widens each of its doubts to what the hold says against it: what lies
// beside a straight line has the doubt's course more often than noise and
// temperature make it. The hold never narrows one: a leak that slows a little
// would be taken for settling.
//
// Source: Birge, R. T., Phys. Rev. 40 (1932) 207: doubts that do not explain
// the scatter are widened until they do (mark M).
func (f *fitting) widenSettling(y []float64, x frame) {
	l, err := straight.lay(f.t, y, x)
	if err != nil || f.liquid == nil {
		return
	}
	for k := range f.settled.doubts {
		course := f.settled.curves[1+k]
		free := l.freed(course)
		scale := floats.Dot(free, free)
		if !(scale > leastLeft*floats.Dot(course, course)) {
			continue
		}
		found := floats.Dot(free, l.residuals) / scale
		std := math.Sqrt(max(l.rss-found*found*scale, 0) / float64(max(len(f.t)-3, 1)))
		floats.Scale(1/scale, free)
		other, _ := f.temperatureLines(f.respond(free)).Combined()
		u := math.Sqrt(1 + square(inflated(std/math.Sqrt(scale), l.inflation)) + square(other))
		if size := math.Abs(found); size > contradictedFrom*u {
			f.settled.widen(k, size)
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
