package sequence

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/daq"
)

// proved is a transducer of a test at 100 bar that has shown its pressure for
// ten seconds, ten readings a second, and the time of its last reading.
func proved(t *testing.T) (*follower, time.Duration) {
	t.Helper()
	f := &follower{level: 50 * bar, safe: 2 * bar, fresh: lostAfter}
	at := time.Duration(0)
	for ; at < 10*time.Second; at += 100 * time.Millisecond {
		f.take(at, Reading{Value: 98 * bar}, false)
	}
	assert.True(t, f.proved)
	return f, at
}

// low takes readings of nothing for half a minute.
func (f *follower) lowFrom(at time.Duration, releasing bool) time.Duration {
	for end := at + 30*time.Second; at < end; at += 100 * time.Millisecond {
		f.take(at, Reading{Value: 0.1 * bar}, releasing)
	}
	return at
}

// A cable that comes off reads a healthy nothing on a channel without a live
// zero: a fall from one reading to the next while nobody releases is no proof.
func TestFallToNothingAtOnceProvesNothing(t *testing.T) {
	f, at := proved(t)
	end := f.lowFrom(at, false)
	assert.False(t, f.proved)
	assert.True(t, f.below(end-100*time.Millisecond), "low it is, but it proves nothing")
	assert.Contains(t, f.doubt, "at once")

	f, at = proved(t)
	f.lowFrom(at, true)
	assert.True(t, f.proved, "a valve opened on purpose may empty the unit between two readings")
}

// Readings that stop under pressure, unhealthy or silent, and come back at
// nothing prove nothing either; a single lost reading does no harm.
func TestReadingsLostUnderPressureProveNothing(t *testing.T) {
	for name, unhealthy := range map[string]bool{"silent": false, "unhealthy": true} {
		t.Run(name, func(t *testing.T) {
			f, at := proved(t)
			for end := at + 30*time.Second; at < end; at += 100 * time.Millisecond {
				if unhealthy {
					f.take(at, Reading{Health: daq.Missing}, true)
				}
			}
			f.lowFrom(at, true)
			assert.False(t, f.proved)
			assert.Contains(t, f.doubt, "stopped while it was under pressure")
		})
	}
	f, at := proved(t)
	f.take(at, Reading{Health: daq.Missing}, true)
	f.lowFrom(at+100*time.Millisecond, true)
	assert.True(t, f.proved)
}

// A wire that broke under pressure, if only for a moment, and reads nothing
// after it proves nothing, also while somebody is releasing; one that reads on
// does, and a fall that was too fast to be believed at once is none.
func TestWireThatBrokeUnderPressureProvesNothing(t *testing.T) {
	for _, h := range []daq.Health{daq.BrokenWire, daq.ShortCircuit, daq.TooFast, daq.Stuck} {
		for _, after := range []float64{0.1 * bar, 97 * bar} {
			f, at := proved(t)
			f.take(at, Reading{Health: h}, true)
			f.take(at+100*time.Millisecond, Reading{Value: after}, true)
			f.lowFrom(at+200*time.Millisecond, true)
			wired := h == daq.TooFast || h == daq.Stuck
			assert.Equal(t, wired || after > bar, f.proved, "%v, then %.0f Pa", h, after)
			assert.Equal(t, f.proved, f.doubt == "", f.doubt)
		}
	}
}

// Back under the test's pressure, the transducer has proved itself anew.
func TestPressureShownAgainIsProofAgain(t *testing.T) {
	f, at := proved(t)
	at += 30 * time.Second
	for end := at + 2*time.Second; at < end; at += 100 * time.Millisecond {
		f.take(at, Reading{Value: 97 * bar}, false)
	}
	assert.True(t, f.proved)
	assert.Empty(t, f.doubt)
}
