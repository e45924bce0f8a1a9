package foreign

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestStampsOfAnyForm(t *testing.T) {
	for _, c := range []struct{ text, order, want string }{
		{"2026-03-04T12:30:15Z", "", "2026-03-04T12:30:15Z"},
		{"2026-03-04 12:30:15.25", "", "2026-03-04T12:30:15.25Z"},
		{"2026/03/04 12:30:15,25", "", "2026-03-04T12:30:15.25Z"},
		{"2026-03-04T12:30:15.123456789+01:00", "", "2026-03-04T11:30:15.123456789Z"},
		{"2026-03-04T12:30:15-0530", "", "2026-03-04T18:00:15Z"},
		{"2026-03-04T12:30:15 UTC", "", "2026-03-04T12:30:15Z"},
		{"04.03.2026 12:30:15", "", "2026-03-04T12:30:15Z"},
		{"4.3.26 12:30", "", "2026-03-04T12:30:00Z"},
		{"04-Mar-2026 12:30:15", "", "2026-03-04T12:30:15Z"},
		{"4 mars 2026 12:30:15", "", "2026-03-04T12:30:15Z"},
		{"4-Dez-26 12:30:15", "", "2026-12-04T12:30:15Z"},
		{"13/04/2026 12:30:15", "", "2026-04-13T12:30:15Z"},
		{"04/13/2026 12:30:15 PM", "", "2026-04-13T12:30:15Z"},
		{"04/13/2026 12:30:15 am", "", "2026-04-13T00:30:15Z"},
		{"03/04/2026 01:30:15 PM", "mdy", "2026-03-04T13:30:15Z"},
		{"03/04/2026 01:30:15", "dmy", "2026-04-03T01:30:15Z"},
		{"03.04.2026 01:30:15", "mdy", "2026-03-04T01:30:15Z"},
		{"26-03-04 12:30:15", "ymd", "2026-03-04T12:30:15Z"},
		{"2026-03-04 12:30:15:250", "", "2026-03-04T12:30:15.25Z"},
		{"2026-03-04", "", "2026-03-04T00:00:00Z"},
	} {
		clock := clock{kind: byStamp, calendar: newCalendar(c.order)}
		assert.Equal(t, isStamp, max(isStamp, classify([]byte(c.text), nil)), c.text)
		for range 2 { // the second time from what is known of the day
			ns, ok := clock.read([]byte(c.text), nil)
			assert.True(t, ok, c.text)
			assert.Equal(t, c.want, time.Unix(0, ns).UTC().Format(time.RFC3339Nano), c.text)
		}
	}
}

func TestWhatIsNoStamp(t *testing.T) {
	for _, text := range []string{"", "12:30", "2026-02-30 12:00:00", "2026-13-01 00:00:00", "2026-03-04 25:00:00", "2026-03-04 12:60:00",
		"2026-03-04 12:30:15 EST", "2026-03-04X12:30", "31/31/2026 12:00:00", "1.2.3.4 12:00:00", "2026-03-04 12:30:15 +99:00", "2026-03-04 13:00:00 PM"} {
		clock := clock{kind: byStamp, calendar: newCalendar("")}
		_, ok := clock.read([]byte(text), nil)
		assert.False(t, ok, text)
	}
}

func TestDatesLearnTheirOrder(t *testing.T) {
	for _, c := range []struct {
		dates     []string
		word      string
		ambiguous []string
		misread   bool
	}{
		{[]string{"03/04/2026"}, "", []string{"dmy", "mdy"}, false},
		{[]string{"05/05/2026"}, "", nil, false}, // the same day either way
		{[]string{"03/04/2026", "13/04/2026"}, "dmy", nil, false},
		{[]string{"03/04/2026", "03/13/2026"}, "mdy", nil, true},
		{[]string{"03/13/2026", "03/14/2026"}, "mdy", nil, false},
		{[]string{"03-04-05"}, "", []string{"dmy", "mdy", "ymd"}, false},
		{[]string{"32-03-04"}, "ymd", nil, false},
		{[]string{"2026-03-04"}, "", nil, false},
		{[]string{"04.03.2026"}, "", nil, false},
		{[]string{"04-Mar-26"}, "", nil, false},
	} {
		calendar := newCalendar("")
		for _, d := range c.dates {
			_, _, ok := calendar.day([]byte(d))
			assert.True(t, ok, d)
		}
		assert.Equal(t, c.word, calendar.word(), c.dates)
		assert.Equal(t, c.ambiguous, calendar.ambiguous(), c.dates)
		assert.Equal(t, c.misread, calendar.misread, c.dates)
	}
	calendar := newCalendar("")
	_, _, first := calendar.day([]byte("13/04/2026"))
	_, _, second := calendar.day([]byte("04/13/2026"))
	assert.True(t, first)
	assert.False(t, second, "no order fits both")
}

// take gives the times, in s, that come of these times as written.
func take(tl timeline, seconds ...float64) (out []float64) {
	for i, s := range seconds {
		if at, keep := tl.step(nanos(s), i+2); keep {
			out = append(out, at)
		}
	}
	return out
}

func TestTimelineMendsOnlyWhatTheRateConfirms(t *testing.T) {
	const usual = second / 10
	number, wall := &clock{kind: byNumber}, &clock{kind: byStamp}
	// An hour back, in step.
	assert.Equal(t, []float64{0, 0.1, 0.2, 0.3}, take(newTimeline(wall, usual), 7200, 7200.1, 3600.2, 3600.3))
	// An hour and a bit: no change of the clock, but rows out of order.
	assert.Equal(t, []float64{0, 0.1}, take(newTimeline(wall, usual), 7200, 7200.1, 3601.2, 3601.3))
	// Plain numbers are no clock.
	assert.Equal(t, []float64{0, 0.1}, take(newTimeline(number, usual), 7200, 7200.1, 3600.2, 3600.3))
	assert.Equal(t, []float64{0, 0.1, 3600.2}, take(newTimeline(number, usual), 0, 0.1, 3600.2))
	// A first row that is not zero, and not much more.
	assert.Equal(t, []float64{0, 0.1}, take(newTimeline(number, usual), 0.3, 0.4, 0.2))
	// Forward, in step, and not.
	assert.Equal(t, []float64{0, 0.1, 0.2}, take(newTimeline(wall, usual), 0, 0.1, 3600.2))
	assert.Equal(t, []float64{0, 0.1, 3605}, take(newTimeline(wall, usual), 0, 0.1, 3605))
	// There and back again.
	assert.Equal(t, []float64{0, 0.1, 0.2, 0.3}, take(newTimeline(wall, usual), 7200, 3600.1, 3600.2, 7200.3))
	// Midnight of a clock without a date, even after a gap.
	assert.Equal(t, []float64{0, 0.1, 0.2, 10}, take(newTimeline(&clock{kind: byDaytime}, usual), 86399.9, 0, 0.1, 9.9))
	// One row too early, then on.
	assert.Equal(t, []float64{0, 0.1, 0.2}, take(newTimeline(number, usual), 5, 5.1, 4, 5.2))
}

func TestStampsAreSpreadWithinTheirStep(t *testing.T) {
	for _, c := range []struct {
		time, want []float64
		later      float64
		each       int
	}{
		{[]float64{0, 0, 1, 1, 2, 2}, []float64{0, 0.5, 1, 1.5, 2, 2.5}, 0, 2},
		// The first second was not whole, nor the last.
		{[]float64{0, 1, 1, 1, 1, 2, 2, 2, 2, 3}, []float64{0, 0.25, 0.5, 0.75, 1, 1.25, 1.5, 1.75, 2, 2.25}, 0.75, 4},
		// One row lost, one too many.
		{[]float64{0, 0, 1, 1, 2, 3, 3, 3, 3, 4, 4, 5, 5}, []float64{0, 0.5, 1, 1.5, 2, 3, 3.25, 3.5, 3.75, 4, 4.5, 5, 5.5}, 0, 2},
		// A gap: the rows before it stay within their own second.
		{[]float64{0, 0, 1, 1, 9, 9}, []float64{0, 0.5, 1, 1.5, 9, 9.5}, 0, 2},
	} {
		later, each := spread(c.time, second)
		assert.Equal(t, c.want, c.time)
		assert.InDelta(t, c.later, later, 1e-12)
		assert.Equal(t, c.each, each)
	}
}
