package analysis

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
)

// changed returns a column with its times and values changed.
func changed(c series.Column, time, value func(float64) float64) series.Column {
	out := series.Column{Name: c.Name, Quantity: c.Quantity}
	for i := range c.Time {
		out.Time = append(out.Time, time(c.Time[i]))
		out.Value = append(out.Value, value(c.Value[i]))
	}
	return out
}

func unchanged(x float64) float64 { return x }

// The times differ by their rounding, so that a reading may fall on the other
// side of an edge.
func TestShiftingTimeShiftsTheHold(t *testing.T) {
	t.Parallel()
	for _, s := range scenes {
		m := newRecord(3, s.dt)
		trapped, feed := m.columns(s.make(m).feed)
		before, reason := FindHold(trapped, feed, FindOptions{})
		require.Empty(t, reason, s.name)
		for _, by := range []float64{-5000, 86400.25, 1.7e9} {
			later := func(x float64) float64 { return x + by }
			after, reason := FindHold(changed(trapped, later, unchanged), changed(feed, later, unchanged), FindOptions{})
			require.Empty(t, reason, s.name)
			assert.InDelta(t, before.Start+by, after.Start, 2.1*s.dt, "%s by %g", s.name, by)
			assert.InDelta(t, before.End+by, after.End, 2.1*s.dt, "%s by %g", s.name, by)
			assert.Equal(t, before.Method, after.Method, s.name)
			if !math.IsNaN(before.Locked) {
				assert.InDelta(t, before.Locked+by, after.Locked, 2.1*s.dt, "%s by %g", s.name, by)
			}
		}
	}
}

func TestUnitOfPressureDoesNotMatter(t *testing.T) {
	t.Parallel()
	for _, s := range scenes {
		m := newRecord(4, s.dt)
		trapped, feed := m.columns(s.make(m).feed)
		before, reason := FindHold(trapped, feed, FindOptions{})
		require.Empty(t, reason, s.name)
		for _, by := range []float64{1e-5, 1 / 6894.757293168, 1e-6, 1 << 10} {
			scaled := func(x float64) float64 { return x * by }
			after, reason := FindHold(changed(trapped, unchanged, scaled), changed(feed, unchanged, scaled), FindOptions{})
			require.Empty(t, reason, s.name)
			assert.Equal(t, before.Start, after.Start, "%s by %g", s.name, by)
			assert.Equal(t, before.End, after.End, "%s by %g", s.name, by)
			assert.Equal(t, math.Float64bits(before.Locked), math.Float64bits(after.Locked), "%s by %g", s.name, by)
			assert.Equal(t, before.Method, after.Method, s.name)
		}
	}
}

// More of the same hold moves its start by no more than what came on, here
// 20 s, whatever the unit does, and its end by just that.
func TestMoreOfTheHoldHardlyMovesItsStart(t *testing.T) {
	t.Parallel()
	units := map[string]func(m *madeRecord){
		"good":             func(*madeRecord) {},
		"leaks":            func(m *madeRecord) { m.leakTime, m.feed = 3000, 0 },
		"leaks much":       func(m *madeRecord) { m.leakTime, m.feed = 400, 0 },
		"leaks evenly":     func(m *madeRecord) { m.leakRate = 0.05 },
		"hoses settle":     func(m *madeRecord) { m.give, m.giveTime = 0.02, 20 },
		"settles for long": func(m *madeRecord) { m.give, m.giveTime = 0.02, 200 },
		"warms":            func(m *madeRecord) { m.warms = func(float64) float64 { return 0.05 } },
		"cools":            func(m *madeRecord) { m.warms = func(t float64) float64 { return -0.08 * math.Exp(-t/150) } },
	}
	for name, unit := range units {
		for seed := range uint64(5) {
			m := newRecord(seed+1, 0.2)
			m.idle(5)
			locked := m.ramp(100, 10)
			unit(m)
			m.idle(900)
			last, lastEnd := math.NaN(), math.NaN()
			for length := 60.0; length <= 880; length += 20 {
				f, reason := FindHold(m.trapped.Window(0, locked+length), noFeed, FindOptions{})
				require.Empty(t, reason, "%s, %g s", name, length)
				assert.LessOrEqual(t, f.Start-locked, length/3+1, "%s, %g s", name, length)
				if !math.IsNaN(last) {
					assert.InDelta(t, last, f.Start, 20, "%s, seed %d, %g s", name, seed+1, length)
					assert.InDelta(t, lastEnd+20, f.End, 0.5, "%s, seed %d, %g s", name, seed+1, length)
				}
				last, lastEnd = f.Start, f.End
			}
		}
	}
}

// A leak has to stay in the window: of the loss since the peak no more than a
// twentieth of the pressure is cut off, however large the leak.
func TestNoLeakIsCutOff(t *testing.T) {
	t.Parallel()
	for _, leakTime := range []float64{5, 10, 20, 40, 80, 160, 320, 640, 1280, 5000} {
		for seed := range uint64(5) {
			m := newRecord(seed+1, 0.1)
			m.idle(5)
			m.ramp(100, 10)
			m.leakTime, m.feed = leakTime, 0
			m.idle(400)
			f, reason := FindHold(m.trapped, noFeed, FindOptions{})
			require.Empty(t, reason, "leak of %g s", leakTime)
			w := m.trapped.Window(f.Start, f.End)
			first, last := w.Value[0]/bar, w.Value[w.Len()-1]/bar
			told := fmt.Sprintf("leak of %g s, from %.1f to %.1f s", leakTime, f.Start, f.End)
			assert.GreaterOrEqual(t, first, 93.0, told)
			// What is left out behind was lost to 95 %.
			assert.LessOrEqual(t, last, max(6, 101*math.Exp(-400/leakTime)), told)
			// The mean rate over the window is not watered down: at least that
			// of an exponential leak until 5 % is left, 0.95/3.0 over its time.
			rate := (first - last) / (f.End - f.Start)
			whole := 100 * (1 - math.Exp(-400/leakTime)) / 400
			assert.GreaterOrEqual(t, rate, 0.9*max(whole, min(1, 400/leakTime/3)*95/3/leakTime), told)
		}
	}
}
