package sequence

import (
	"math"
	"time"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

const (
	// ventedFor is how long the pressure must stay below safe.
	ventedFor = 5 * time.Second
	// provedFor is how long a transducer must show the test's pressure, so
	// that one spike proves nothing.
	provedFor = time.Second
	// lostAfter is the least age at which a reading is no longer fresh.
	lostAfter = 2 * time.Second
)

// freshFor is how long a reading stays fresh: three intervals, at least
// lostAfter.
func freshFor(interval time.Duration) time.Duration {
	return max(3*interval, lostAfter)
}

// newest is the newest reading of one channel in its part.
type newest struct {
	role  Role
	at    time.Duration
	value float64
	// asked is true when the newest answer, healthy or not, came at at;
	// healthy says whether it may be used.
	asked   bool
	health  daq.Health
	goodAt  time.Duration
	hasGood bool
}

// take keeps a reading.
func (n *newest) take(at time.Duration, r Reading) {
	n.asked, n.at, n.value, n.health = true, at, r.Value, r.Health
	if r.healthy() {
		n.goodAt, n.hasGood = at, true
	}
}

// healthy says whether the value may be used.
func (r Reading) healthy() bool {
	return r.Health == daq.Healthy && !math.IsNaN(r.Value) && !math.IsInf(r.Value, 0)
}

// now returns the value if it is healthy and fresh, else NaN.
func (n *newest) now(at time.Duration) float64 {
	if n.role.Exists() && n.asked && n.hasGood && n.goodAt == n.at && at-n.at <= freshFor(n.role.Interval) {
		return n.value
	}
	return math.NaN()
}

// seen says whether the last healthy value is fresh and nothing was wrong with
// the channel since. An answer that was lost tells of nothing wrong: on a line
// with noise now and then one is.
func (n *newest) seen(at time.Duration) bool {
	return n.role.Exists() && n.hasGood && (n.goodAt == n.at || n.health == daq.Missing) && at-n.goodAt <= freshFor(n.role.Interval)
}

// proofLevel is the pressure that a transducer must have shown in this run
// before its fall means anything: the larger of five times safe and half the
// test pressure, but never more than nine tenths of the test pressure, and at
// least twice safe.
func proofLevel(p *procedure.Procedure) float64 {
	level := math.Max(5*p.SafePressure, p.TestPressure/2)
	return math.Max(math.Min(level, 0.9*p.TestPressure), 2*p.SafePressure)
}

// follower watches whether one transducer followed the pressure up and down.
type follower struct {
	level, safe float64
	fresh       time.Duration

	// valid is true when the newest answer was a healthy reading, at last.
	valid     bool
	last      time.Duration
	highSince time.Duration
	high      bool
	proved    bool
	lowSince  time.Duration
	low       bool

	// value is the last healthy one. doubt says what a proof was lost by;
	// empty while there is none.
	value float64
	doubt string
	// broken is true when its wiring was at fault since that one.
	broken bool
}

// take reads one reading of the transducer. An unhealthy reading, or a gap
// longer than a reading stays fresh, starts both times anew. What looks like a
// cable that came off, not like pressure that left, takes the proof away until
// the transducer shows the test's pressure again: readings that stopped while
// it was under pressure, or a fall to nothing from one reading to the next
// while nobody was releasing.
func (f *follower) take(at time.Duration, r Reading, releasing bool) {
	f.valid = r.healthy()
	gap := at-f.last > f.fresh
	if !f.valid || gap {
		f.high, f.low = false, false
	}
	if !f.valid {
		f.broken = f.broken || r.Health == daq.BrokenWire || r.Health == daq.ShortCircuit
		return
	}
	nothing := math.Abs(r.Value) < f.safe
	switch {
	case !f.proved:
	case gap && f.value >= f.safe:
		f.proved, f.doubt = false, "its readings stopped while it was under pressure"
	case f.broken && f.value >= f.safe && nothing:
		f.proved, f.doubt = false, "its wiring was at fault while it was under pressure"
	case !releasing && f.value >= f.level && nothing:
		f.proved, f.doubt = false, "it fell to nothing at once while nobody was releasing"
	}
	f.value, f.broken = r.Value, false
	f.high, f.highSince = since(f.high, f.highSince, r.Value >= f.level, at)
	f.low, f.lowSince = since(f.low, f.lowSince, nothing, at)
	if f.high && at-f.highSince >= provedFor {
		f.proved, f.doubt = true, ""
	}
	f.last = at
}

// since carries on a state that holds, or begins it, or ends it.
func since(was bool, from time.Duration, is bool, at time.Duration) (bool, time.Duration) {
	if is && !was {
		return true, at
	}
	return is, from
}

// below says whether the readings up to the newest, which is fresh, have been
// below safe for long enough. The sign does not matter: a zero that is off by
// more than the safe pressure shows nothing.
func (f *follower) below(now time.Duration) bool {
	return f.current(now) && f.low && f.last-f.lowSince >= ventedFor
}

// current says whether the newest reading is healthy and fresh.
func (f *follower) current(now time.Duration) bool {
	return f.valid && now-f.last <= f.fresh
}
