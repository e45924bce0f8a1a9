package daq

import (
	"fmt"
	"math"
	"time"
)

// TimingOf begins the subject of the note that keeps an instrument's timing.
const TimingOf = "timing of "

// Timing says how punctually an instrument was scanned since scanning began.
type Timing struct {
	Instrument string
	Streams    bool
	// Nominal is the interval of the bench file, 0 where it has none.
	Nominal time.Duration
	// Scans is how many there were.
	Scans int
	// Mean and Jitter are the mean of the intervals between successive scans
	// and their standard deviation from it, s, where no tick was missed in
	// between; NaN for fewer than one, or two, such intervals.
	Mean, Jitter float64
	// Latest is the largest lateness of a scan against its tick, start +
	// k·Nominal; of an instrument that sets the pace, which has no such grid,
	// by how much an interval was longer than Nominal at most.
	Latest time.Duration
	// Missed is how many ticks passed without a scan.
	Missed int
	// Backwards is how many scans were stamped no later than the one before,
	// and were put after it.
	Backwards int
	// Counted is what the source's Counted says; empty where it counts nothing.
	Counted string
}

// String is a line for people and recordings.
func (t Timing) String() string {
	text := fmt.Sprintf("%d scans", t.Scans)
	if !math.IsNaN(t.Mean) {
		text += fmt.Sprintf(", mean interval %.3f ms", 1e3*t.Mean)
	}
	if !math.IsNaN(t.Jitter) {
		text += fmt.Sprintf(", sd %s ms", milliseconds(t.Jitter))
	}
	text += fmt.Sprintf(", latest by %s ms, %d missed", milliseconds(t.Latest.Seconds()), t.Missed)
	if t.Backwards > 0 {
		text += fmt.Sprintf(", %d stamped out of order", t.Backwards)
	}
	if t.Counted != "" {
		text += "; " + t.Counted
	}
	return text
}

// milliseconds writes s in ms, to three significant digits and no finer than a
// microsecond.
func milliseconds(s float64) string {
	ms := 1e3 * s
	decimals := 3
	for x := math.Abs(ms); x >= 1 && decimals > 0; x /= 10 {
		decimals--
	}
	return fmt.Sprintf("%.*f", decimals, ms)
}

// Count is how often something happened, in words for people and recordings.
type Count struct {
	N    int
	What string
}

// Counted names what was counted after what there is always to say; what never
// happened is left out.
func Counted(always string, counts ...Count) string {
	for _, c := range counts {
		if c.N > 0 {
			always += fmt.Sprintf(", %d %s", c.N, c.What)
		}
	}
	return always
}

// pace measures one source's timing. Of the intervals it keeps a running mean
// and sum of squared deviations (Welford 1962), which lose no digits however
// long it runs.
type pace struct {
	Timing
	last      time.Duration // stamp of the newest scan
	ticked    int64         // its tick
	intervals int
	mean, m2  float64
}

// rising returns the stamp at which a scan goes on: after the one before,
// whatever it says of itself.
func (p *pace) rising(at time.Duration) time.Duration {
	if p.Scans > 0 && at <= p.last {
		p.Backwards++
		return p.last + 1
	}
	return at
}

// polled takes a scan that was due at a tick of its grid.
func (p *pace) polled(at, due time.Duration, tick int64) {
	if late := at - due; late > p.Latest {
		p.Latest = late
	}
	missed := tick - p.ticked - 1
	if p.Scans == 0 {
		missed = tick
	}
	p.Missed += int(missed)
	p.take(at, missed == 0)
	p.ticked = tick
}

// streamed takes a line of an instrument that sets the pace.
func (p *pace) streamed(at time.Duration) {
	whole := true
	if p.Scans > 0 && p.Nominal > 0 {
		interval := at - p.last
		p.Latest = max(p.Latest, interval-p.Nominal)
		missed := int((interval+p.Nominal/2)/p.Nominal) - 1
		if missed > 0 {
			p.Missed += missed
			whole = false
		}
	}
	p.take(at, whole)
}

func (p *pace) take(at time.Duration, whole bool) {
	if p.Scans > 0 && whole {
		x := (at - p.last).Seconds()
		p.intervals++
		d := x - p.mean
		p.mean += d / float64(p.intervals)
		p.m2 += d * (x - p.mean)
	}
	p.Scans++
	p.last = at
}

// timing is what was measured so far.
func (p *pace) timing() Timing {
	t := p.Timing
	t.Mean, t.Jitter = math.NaN(), math.NaN()
	if p.intervals > 0 {
		t.Mean = p.mean
	}
	if p.intervals > 1 {
		t.Jitter = math.Sqrt(p.m2 / float64(p.intervals-1))
	}
	return t
}

// Timing says of each instrument, in the order of the lines, how punctually it
// was scanned so far. Any goroutine may ask, also after Run.
func (s *Scanner) Timing() []Timing {
	s.pacing.Lock()
	defer s.pacing.Unlock()
	var out []Timing
	for k, line := range s.paces {
		for i := range line {
			t := line[i].timing()
			if counted := s.lines[k].Sources[i].Counted; counted != nil {
				t.Counted = counted()
			}
			out = append(out, t)
		}
	}
	return out
}
