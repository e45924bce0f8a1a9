package analysis

import "math"

// window is the hold as it was made of a stretch. Times in s, pressures in
// Pa; letDown is NaN where the feed side says nothing.
type window struct {
	of                 stretch
	locked, peak       float64
	letDown            float64
	start, end         float64
	steady             settled
	startPressure      float64
	feedUnderPressure  bool
	releaseIsAmbiguous bool
}

// window makes the hold of a stretch.
func (l looked) window(s stretch) window {
	tr := l.pressure
	w := window{of: s, letDown: math.NaN()}
	first, last := s.first, s.last
	feed := l.feedIn(s)
	lostBefore := 0.0
	switch {
	case feed.isDown:
		if feed.down > tr.t[first] {
			w.letDown = feed.down
			first = min(tr.at(feed.down)+1, last)
			lostBefore = tr.v[s.first] - tr.v[first]
		}
		if feed.up < tr.t[last] {
			last = max(first, tr.at(feed.up))
			w.of.end = endFeed
		}
	case feed.measured:
		w.feedUnderPressure = true
	}
	if lostBefore > fastLoss*tr.v[s.first] {
		// Lost with the feed, or as it went: that is the unit's own loss.
		first = max(s.first, tr.at(feed.falls))
	}
	w.end = tr.to[last]
	w.start = tr.from[first]
	if s.pressed || s.letDown {
		w.start, w.steady = tr.steady(first, last)
	}
	w.locked, w.peak = l.peak(s.first)
	i := max(first, tr.at(w.start))
	w.startPressure = tr.v[i]
	if k := tr.highest(s.first, i); tr.v[k] > tr.v[s.first]+noiseClear*tr.noise && tr.v[k] > tr.v[i]+noiseClear*tr.noise {
		w.locked, w.peak = l.peak(k)
	}
	w.releaseIsAmbiguous = s.end == endReleased && s.pressed && !feed.isDown && l.length(s) < 2*l.pumpedFor(s)
	return w
}

// highest is the place of the highest pressure in a…b.
func (tr track) highest(a, b int) int {
	best := a
	for i := a; i <= b; i++ {
		if tr.v[i] > tr.v[best] {
			best = i
		}
	}
	return best
}

// peak returns the instant and the value of the pressure at a place, in a
// record gathered into blocks those of the highest reading near it.
func (l looked) peak(at int) (t, v float64) {
	tr := l.pressure
	if tr.size == 1 {
		return tr.t[at], tr.v[at]
	}
	near := l.trapped.Window(tr.from[max(0, at-1)], tr.to[min(at+1, tr.len()-1)]).Valid()
	smooth := runningMedian(near.Value, 3)
	best := 0
	for i, x := range smooth {
		if x > smooth[best] {
			best = i
		}
	}
	return near.Time[best], smooth[best]
}
