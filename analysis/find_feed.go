package analysis

const (
	feedLow    = 0.2  // of the trapped pressure: let down
	feedHigh   = 0.5  // of it: under pressure
	feedEnough = 0.25 // of a stretch: the least that the feed is down
	// lockingReach is within how many times the time of the press-up the
	// feed's let-down belongs to the locking.
	lockingReach = 10.0
)

// feedSeen is what the feed side did in a stretch. down is when it was let
// down for the longest time, falls when it began to fall to that, up when it
// came up again.
type feedSeen struct {
	measured, isDown bool
	falls, down, up  float64
}

// feedIn looks for the longest time in a stretch at which the feed was down.
func (l looked) feedIn(s stretch) feedSeen {
	tr, f := l.pressure, l.feed
	begin, end := tr.t[s.first], tr.t[s.last]
	level := tr.v[s.first]
	seen := feedSeen{falls: begin, down: begin, up: end}
	longest, lastHigh := feedEnough*(end-begin), begin
	for i := max(0, f.at(begin)); i < f.len() && f.t[i] <= end; i++ {
		seen.measured = true
		if f.v[i] >= 0.9*level {
			lastHigh = max(begin, f.t[i])
		}
		if f.v[i] >= feedLow*level {
			continue
		}
		falls, down, up := lastHigh, max(begin, f.t[i]), end
		for ; i < f.len() && f.t[i] <= end; i++ {
			if f.v[i] >= feedHigh*level {
				up = f.t[max(0, i-2)]
				break
			}
		}
		if up-down > longest {
			longest = up - down
			seen.isDown, seen.falls, seen.down, seen.up = true, falls, down, up
		}
	}
	return seen
}

// untilLetDown returns the place from which a fall can be a release: the
// start of the stretch, or where the feed's let-down begins that belongs to
// the locking, because what is lost from then on is lost by the unit.
func (l looked) untilLetDown(s stretch) int {
	tr := l.pressure
	f := l.feedIn(s)
	if !f.isDown || !(f.falls > tr.t[s.first]) {
		return s.first
	}
	reach := lockingReach * l.pressUpTime(s.first)
	if !s.pressed || s.letDown {
		reach = firstThird * (tr.t[s.last] - tr.t[s.first])
	}
	if f.falls-tr.t[s.first] > reach {
		return s.first
	}
	return max(s.first, tr.at(f.falls))
}

// pressUpTime is about how long the pressure took to come up to the place:
// twice the time for the upper half, s.
func (l looked) pressUpTime(first int) float64 {
	tr := l.pressure
	i := first
	for i > 0 && tr.v[i] > 0.5*tr.v[first] {
		i--
	}
	return 2 * (tr.t[first] - tr.t[i])
}
