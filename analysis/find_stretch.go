package analysis

import "math"

// The rules of release and of what ends a stretch; see FindHold.
const (
	releaseLoss   = 0.2  // of the pressure
	releaseWithin = 0.25 // of the time since the stretch began
	releaseOver   = 0.5  // of that time: until the fall is over
	releaseTries  = 20   // slow falls that are looked at
	releaseSoon   = 0.02 // of that time: looked for besides
	releaseRate   = 3.0  // times the average rate of loss until then
	goneShare     = 0.05 // of the pressure at the start of the stretch
	deepLoss      = 0.15 // of that: more than settling
	deepDone      = 0.95 // of the loss
	firstThird    = 1.0 / 3
	climbMore     = 2 // readings
)

// ending says what ended a stretch, in words for pages.
type ending string

const (
	endOfRecord ending = "the end of the record"
	endPumped   ending = "pumped again"
	endReleased ending = "released"
	endGone     ending = "the pressure gone"
	endFeed     ending = "the feed side under pressure again"
)

// stretch is a part of the record in which nothing was pumped: places first
// to last. pressed: something was pumped before it. letDown: it follows a
// release in part.
type stretch struct {
	first, last      int
	pressed, letDown bool
	end              ending
}

// split makes stretches of what lies between climbs.
func (l looked) split(climbs []bool) []stretch {
	var out []stretch
	n := l.pressure.len()
	for first := 0; first < n; {
		last := first
		for last+1 < n && !climbs[last+1] {
			last++
		}
		s := stretch{first: first, last: last, pressed: first > 0, end: endOfRecord}
		if last+1 < n {
			s.end = endPumped
		}
		out = l.splitReleases(out, s)
		for first = last + 1; first < n && climbs[first]; first++ {
		}
		// The last place of the climb is the first of the stretch.
		if first > last+1 {
			first = l.pressure.crest(first-1, climbs)
		}
	}
	return out
}

// crest goes on from the last place of a climb while the next readings are
// clearly higher, by climbMore places at most.
func (tr track) crest(i int, climbs []bool) int {
	for k := 0; k < climbMore && i+1 < tr.len() && !climbs[i+1] && tr.v[i+1] > tr.v[i]+3*tr.noise; k++ {
		i++
	}
	return i
}

// splitReleases appends the parts of a stretch between its releases.
func (l looked) splitReleases(out []stretch, s stretch) []stretch {
	tr := l.pressure
	for {
		turn, bottom, found := tr.firstRelease(l.untilLetDown(s), s.last)
		if !found {
			if s.end == endPumped {
				s.last = tr.beforeTurn(s.first, s.last)
			}
			return append(out, tr.untilGone(s))
		}
		held := s
		held.last, held.end = tr.beforeTurn(s.first, turn), endReleased
		out = append(out, tr.untilGone(held))
		if bottom <= s.first || bottom >= s.last {
			return out
		}
		s = stretch{first: bottom, last: s.last, pressed: s.pressed, letDown: true, end: s.end}
	}
}

// firstRelease finds the first release in first…last: the place at which the
// pressure turns to fall, and that at which the fall is over. What is quick is
// looked for again in a short time: over a long one, the emptiness behind it
// makes it look slow where little was left to release.
func (tr track) firstRelease(first, last int) (turn, bottom int, found bool) {
	until := last
	if turn, bottom, found = tr.release(first, last, releaseWithin); found {
		until = turn
	}
	if t, b, ok := tr.release(first, until, releaseSoon); ok {
		return t, b, true
	}
	return turn, bottom, found
}

// release finds the first release that takes no longer than the share within
// of the time before it.
func (tr track) release(first, last int, within float64) (turn, bottom int, found bool) {
	var lows queue
	ahead, tries := first, releaseTries
	for i := first + 1; i < last; i++ {
		elapsed := tr.t[i] - tr.t[first]
		for ahead < last && (ahead <= i || tr.t[ahead+1] <= tr.t[i]+within*elapsed) {
			ahead++
			lows.pushLow(tr.v, ahead)
		}
		for lows.front() <= i {
			lows.dropFront()
		}
		low := lows.front()
		loss := tr.v[i] - tr.v[low]
		average := max(0, (tr.v[first]-tr.v[i])/elapsed)
		if loss < releaseLoss*tr.v[i] || loss < topUpClear*tr.noise || loss < releaseRate*average*(tr.t[low]-tr.t[i]) {
			continue
		}
		if tr.t[low]-tr.t[i] > within*elapsed {
			continue // two readings far apart
		}
		falling := i
		for tr.v[falling] > tr.v[low]+0.1*loss {
			falling++
		}
		turn = tr.knee(first, falling)
		bottom = tr.bottom(turn, falling, last)
		if tr.t[bottom]-tr.t[turn] > releaseOver*(tr.t[turn]-tr.t[first]) {
			if tries--; tries == 0 {
				return 0, 0, false
			}
			i = falling
			continue
		}
		return turn, bottom, true
	}
	return 0, 0, false
}

// knee returns the place that lies highest above the chord from a to b.
func (tr track) knee(a, b int) int {
	slope := (tr.v[b] - tr.v[a]) / (tr.t[b] - tr.t[a])
	best, highest := a, 0.0
	for i := a; i < b; i++ {
		if above := tr.v[i] - tr.v[a] - slope*(tr.t[i]-tr.t[a]); above >= highest {
			best, highest = i, above
		}
	}
	return best
}

// bottom follows a fall from turn past falling until it has slowed to a tenth.
func (tr track) bottom(turn, falling, last int) int {
	span := max(tr.t[falling]-tr.t[turn], tr.step)
	rate := (tr.v[turn] - tr.v[falling]) / span
	ahead := falling
	for i := falling; i < last; i++ {
		for ahead < last && tr.t[ahead] < tr.t[i]+span/2 {
			ahead++
		}
		if tr.v[i]-tr.v[ahead] < 0.1*rate*(tr.t[ahead]-tr.t[i]) {
			return i
		}
	}
	return last
}

// beforeTurn steps back from a turn of the pressure at last, to where it
// still is what it was before, and one reading further.
func (tr track) beforeTurn(first, last int) int {
	m := max(3, (last-first)/100)
	if last-first < 4*m {
		return max(first, last-1)
	}
	far, near := mean(tr.v[last-3*m:last-2*m]), mean(tr.v[last-2*m:last-m])
	slope := (near - far) / float64(m)
	off := max(4*tr.noise, 0.0005*tr.top)
	for i := last; i > last-m; i-- {
		expected := near + slope*(float64(i)-float64(last-2*m)-float64(m-1)/2)
		if math.Abs(tr.v[i]-expected) < off {
			return i - 1
		}
	}
	return last - 1
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// untilGone ends a stretch where there is next to nothing left to lose.
func (tr track) untilGone(s stretch) stretch {
	start, end := tr.v[s.first], tr.v[s.last]
	last := s.last
	for last > s.first && tr.v[last] < goneShare*start {
		last--
	}
	if last < s.last {
		s.last, s.end = last+1, endGone
		end = tr.v[s.last]
	}
	lost := start - end
	if !(lost > deepLoss*start) {
		return s
	}
	done := s.first
	for done < s.last && tr.v[done] > start-deepDone*lost {
		done++
	}
	if tr.t[done]-tr.t[s.first] <= firstThird*(tr.t[s.last]-tr.t[s.first]) {
		s.last, s.end = done, endGone
	}
	return s
}
