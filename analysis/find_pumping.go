package analysis

import (
	"math"
)

// The rules of pumping; see FindHold.
const (
	pressUpGain  = 0.2   // of the highest pressure: a gain that makes a press-up
	pressUpQuick = 0.05  // of the record's length: the time for that gain
	pressUpLow   = 0.35  // of the highest pressure: from below it, any rise is one
	pumpedShare  = 0.2   // of the quickest rate: still being pumped
	handRate     = 120.0 // s for the highest pressure: faster is always pumped
	pumpedGain   = 0.005 // of the highest pressure: the least gain looked at
	topUpGain    = 0.003 // of the highest pressure: the least step of a top-up
	topUpLow     = 0.05  // of the highest pressure: below it, nothing is topped up
	topUpClear   = 8.0   // times the typical change in the same time
	topUpAside   = 0.25  // of the step: what may be gained before and after
	noiseClear   = 6.0   // standard deviations
)

// topUpTimes are the two lengths of time within which a step is looked for, s.
var topUpTimes = [...]float64{3, 20}

// climbs marks, for each place, whether the pressure was pumped up to it from
// the place before. Without pressUps only top-ups count.
func (tr track) climbs(pressUps bool) []bool {
	marks := make([]bool, tr.len())
	if tr.len() < 2 || !(tr.top > 0) {
		return marks
	}
	if rate, ok := tr.pressUpRate(); ok && pressUps {
		tr.markPumped(marks, min(pumpedShare*rate, tr.top/handRate))
	}
	done := 0.0
	for _, w := range topUpTimes {
		if w = max(w, 2*tr.step); w > done {
			tr.markTopUps(marks, w)
			done = w
		}
	}
	return marks
}

// pressUpRate returns the rate of the quickest gain, Pa/s, and whether there
// is a press-up in the record.
func (tr track) pressUpRate() (float64, bool) {
	gain := max(pressUpGain*tr.top, noiseClear*tr.noise)
	rate, within, ok := tr.quickest(gain)
	if !ok {
		return 0, false
	}
	return rate, within <= pressUpQuick*tr.duration() || tr.comesUpFromLow()
}

// quickest returns the rate of the gain of at least that much in the shortest
// time, and that time. Places that a later and lower one hides behind are
// dropped, as are those whose shortest time is known, so that each is looked
// at once.
func (tr track) quickest(gain float64) (rate, within float64, ok bool) {
	within = math.Inf(1)
	var lows queue
	for i, v := range tr.v {
		for lows.any() && v-tr.v[lows.front()] >= gain {
			j := lows.front()
			lows.dropFront()
			if d := tr.t[i] - tr.t[j]; d > 0 && d < within {
				within, rate, ok = d, (v-tr.v[j])/d, true
			}
		}
		for lows.any() && tr.v[lows.back()] >= v {
			lows.dropBack()
		}
		lows.push(i)
	}
	return rate, within, ok
}

// comesUpFromLow reports whether the pressure was low before its highest.
func (tr track) comesUpFromLow() bool {
	for _, v := range tr.v {
		if v <= pressUpLow*tr.top {
			return true
		}
		if v >= tr.top {
			return false
		}
	}
	return false
}

// markPumped marks what rises at the rate or faster, by more than noise does,
// and does not come back at once.
func (tr track) markPumped(marks []bool, rate float64) {
	gain := max(pumpedGain*tr.top, noiseClear*tr.noise)
	var lows queue
	marked := 0
	for i := 1; i < tr.len(); i++ {
		lows.pushLow(tr.v, i-1)
		for lows.front() < i-1 && tr.t[i]-tr.t[lows.front()] > gain/rate {
			lows.dropFront()
		}
		j := lows.front()
		risen := tr.v[i] - tr.v[j]
		if !(risen >= gain && risen >= rate*(tr.t[i]-tr.t[j])) || !tr.stays(i, tr.v[j]+risen/4) {
			continue
		}
		top := i
		for top-1 > j && tr.v[top-1] >= tr.v[i]-0.1*risen {
			top--
		}
		for marked = max(j+1, marked); marked <= top; marked++ {
			marks[marked] = true
		}
	}
}

// stays reports whether the next two places lie above the pressure.
func (tr track) stays(i int, above float64) bool {
	for k := i + 1; k <= i+2 && k < tr.len(); k++ {
		if tr.v[k] < above {
			return false
		}
	}
	return true
}

// markTopUps marks the steps that come within w seconds.
func (tr track) markTopUps(marks []bool, w float64) {
	if 4*w > tr.duration() {
		return
	}
	gain := max(topUpGain*tr.top, topUpClear*tr.noise, topUpClear*tr.typicalChange(w))
	b, a, after := 0, 0, 0
	for i := 1; i < tr.len(); i++ {
		b = tr.lastNotAfter(b, min(tr.t[i]-w, tr.t[i-1]))
		a = tr.lastNotAfter(a, tr.t[i]-3*w)
		after = tr.lastNotAfter(after, tr.t[i]+2*w)
		step := tr.v[i] - tr.v[b]
		if step < gain || tr.v[i] < topUpLow*tr.top || tr.t[i]-3*w < tr.t[0] {
			continue
		}
		// Rates, so that a gap in the record is no step.
		rate := topUpAside * step / w
		before := (tr.v[b] - tr.v[a]) / (tr.t[b] - tr.t[a])
		later := 0.0
		if after > i {
			later = (tr.v[after] - tr.v[i]) / (tr.t[after] - tr.t[i])
		}
		lasts := tr.v[after] >= tr.v[b]+step/2 && tr.v[i]-tr.v[a] >= step/2
		if lasts && before <= rate && later <= rate && tr.t[i]-tr.t[b] <= 2*w {
			tr.markSteepest(marks, b, i)
		}
	}
}

// lastNotAfter moves the place i up to the last one not after the time.
func (tr track) lastNotAfter(i int, time float64) int {
	for i+1 < tr.len() && tr.t[i+1] <= time {
		i++
	}
	return i
}

// typicalChange is the median size of what the pressure changes in w seconds.
func (tr track) typicalChange(w float64) float64 {
	var changes []float64
	every := 1 + tr.len()/sampled
	j := 0
	for i := every; i < tr.len(); i += every {
		j = tr.lastNotAfter(j, min(tr.t[i]-w, tr.t[i-1]))
		if tr.v[i] >= pressUpLow*tr.top {
			changes = append(changes, math.Abs(tr.v[i]-tr.v[j]))
		}
	}
	return medianOf(changes)
}

// markSteepest marks the middle 80 % of the rise from b to i.
func (tr track) markSteepest(marks []bool, b, i int) {
	rise := tr.v[i] - tr.v[b]
	foot, head := tr.v[b]+0.1*rise, tr.v[i]-0.1*rise
	for b+1 < i && tr.v[b+1] <= foot {
		b++
	}
	for i-1 > b && tr.v[i-1] >= head {
		i--
	}
	for k := b + 1; k <= i; k++ {
		marks[k] = true
	}
}

// queue is a queue of places, open at both ends.
type queue struct {
	places []int
	head   int
}

func (q *queue) any() bool  { return q.head < len(q.places) }
func (q *queue) front() int { return q.places[q.head] }
func (q *queue) back() int  { return q.places[len(q.places)-1] }
func (q *queue) dropFront() { q.head++ }
func (q *queue) dropBack()  { q.places = q.places[:len(q.places)-1] }
func (q *queue) push(i int) { q.places = append(q.places, i) }

// pushLow adds a place behind those that are lower, so that the front is the
// lowest.
func (q *queue) pushLow(v []float64, i int) {
	for q.any() && v[q.back()] >= v[i] {
		q.dropBack()
	}
	q.push(i)
}
