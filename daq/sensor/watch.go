package sensor

import (
	"math"
	"time"

	"holdbench/daq"
)

// Watch sees the readings of one channel, one after the other, and says of
// those that are healthy each on its own whether they can be true together. The
// zero value watches nothing. It is not safe for use from several goroutines.
type Watch struct {
	// StuckAfter is for how long the raw number may stay the very same; 0: for
	// ever. A channel whose steps are coarse may stand still for long with
	// nothing wrong, so it is said channel by channel.
	StuckAfter time.Duration
	// Fastest is how fast the value can change at all, SI per second; 0:
	// however fast.
	Fastest float64
	// Least is the shortest time between two readings that is taken for true:
	// gateways and adapters hand on together what was measured one after the
	// other.
	Least time.Duration

	raw   float64
	since time.Duration // the raw number is the same since
	any   bool

	believed mark
	doubted  mark // the last that was not believed
	follow   int  // so many in a row that agree with each other
}

type mark struct {
	at    time.Duration
	value float64
	set   bool
}

// Agreeing is how many readings in a row must agree with each other, each
// reached from the one before no faster than Fastest, before a new level is
// believed that was reached too fast: a spike is one or two, a burst stays.
const Agreeing = 3

// See returns the health of a reading at that instant, which comes after all
// those before: r.Health unless that is Healthy and the reading is Stuck or
// TooFast. A reading that is too fast is no reading until the value has come
// back, so much time has passed that it may be there, or Agreeing of them
// agree.
func (w *Watch) See(at time.Duration, r daq.Reading) daq.Health {
	stuck := w.stuck(at, r.Raw)
	switch {
	case r.Health != daq.Healthy:
		w.follow, w.doubted = 0, mark{}
		return r.Health
	case stuck:
		return daq.Stuck
	case w.Fastest > 0 && w.tooFast(mark{at, r.Value, true}):
		return daq.TooFast
	}
	return daq.Healthy
}

func (w *Watch) stuck(at time.Duration, raw float64) bool {
	if math.IsNaN(raw) {
		return false // nothing was learned: neither moved nor stood
	}
	if !w.any || raw != w.raw {
		w.raw, w.since, w.any = raw, at, true
	}
	return w.StuckAfter > 0 && at-w.since >= w.StuckAfter
}

func (w *Watch) tooFast(now mark) bool {
	if w.reaches(w.believed, now) {
		w.believe(now)
		return false
	}
	if w.follow > 0 && w.reaches(w.doubted, now) {
		w.follow++
	} else {
		w.follow = 1
	}
	w.doubted = now
	if w.follow < Agreeing {
		return true
	}
	w.believe(now)
	return false
}

func (w *Watch) believe(m mark) { w.believed, w.doubted, w.follow = m, mark{}, 0 }

// reaches says whether b can be true after a. Two readings of one instant say
// nothing of how fast.
func (w *Watch) reaches(a, b mark) bool {
	dt := max(b.at-a.at, w.Least).Seconds()
	return !a.set || dt <= 0 || math.Abs(b.value-a.value) <= w.Fastest*dt
}
