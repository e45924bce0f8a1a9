package daqtest_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

const (
	interval = 100 * time.Millisecond
	patience = 300 * time.Millisecond // the link's time-out
	// late is the longest delay of an answer: a master that waits as long again
	// as an exchange may take hears it.
	late = 19 * patience / 10
	// veryLate is longer than any master waits: where answers are not numbered,
	// one may be taken for the next.
	veryLate = 6 * patience
)

// subject is a kind of instrument on a faulty line: what the bench file says
// of it, and how it talks.
type subject struct {
	name, port, instrument string
	pressure, temperature  string // where the channels stand
	// answer is what the instrument says to a request when it has said n times
	// something; nil: it does not answer. A stream is asked by its own clock.
	answer  func(request []byte, n int) []byte
	streams bool
	// numbered says that an answer says which question it answers.
	numbered bool
	// aside is what it says to a request that asks for no reading; may be nil.
	aside func(request []byte) []byte
	// other is what another instrument of its make says at the same time.
	other func(said []byte) []byte
	// unseen says of a fault that the format itself cannot show it; such
	// wrong values are counted and told.
	unseen func(daqtest.Fault) bool
}

// seen are the faults that the format shows.
func (s subject) seen() (all []daqtest.Fault) {
	for _, f := range daqtest.Faults {
		if s.unseen == nil || !s.unseen(f) {
			all = append(all, f)
		}
	}
	return all
}

// The known function: what the instrument measures when it has answered n
// times before. Both numbers are exact in every format.
func pressureOf(n int) float64    { return float64(n%100000) / 16 }
func temperatureOf(n int) float64 { return float64(n % 20000) }

// told is what an instrument has said, and when.
type told struct {
	mu sync.Mutex
	at []time.Duration
}

func (l *told) next(now time.Duration) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.at = append(l.at, now)
	return len(l.at) - 1
}

func (l *told) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.at)
}

// all is when each thing was said.
func (l *told) all() []time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Clone(l.at)
}

// tomlOf is the bench file of one instrument.
func tomlOf(s subject) string {
	return fmt.Sprintf(`
name = "faults"
[[link]]
name = "line"
port = %q
baud = 19200
timeout = "300 ms"
[[instrument]]
name = "device"
link = "line"
interval = "0.1 s"
%s
[[channel]]
name = "trapped_a"
quantity = "pressure"
instrument = "device"
raw_unit = "bar"
range = ["0 bar", "10000 bar"]
reference = "gauge"
%s
[[channel]]
name = "body"
quantity = "temperature"
instrument = "device"
raw_unit = "°C"
%s
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "trapped_a"
feed = "unmeasured"
temperature = "body"
`, s.port, s.instrument, s.pressure, s.temperature)
}

// trial is one run of a subject over a line.
type trial struct {
	t      *testing.T
	s      subject
	cable  *daqtest.Cable
	line   *daqtest.Faulty
	clock  daq.Clock
	told   *told
	timing []daq.Timing
	lines  []daq.Line
	scans  []daq.Scan
	events []daq.Event
	mute   atomic.Bool
}

// outcome is what came of it.
type outcome struct {
	due, asked, harmed, read, wrong, gaps int
	counted                               string        // what the recording is told of it
	oldest                                time.Duration // the age of the oldest value when it was stamped
}

// lost is how many readings did not come about.
func (o outcome) lost() int { return max(0, o.due-o.read) }

// sound is how long a line is left alone at the end.
const sound = 30 * time.Second

// run scans that many intervals in a bubble while hand does what it likes to
// the line, then a while without faults, and judges what was read.
func run(t *testing.T, s subject, intervals int, fault daqtest.Fault, rate float64, hand func(x *trial)) outcome {
	var out outcome
	synctest.Test(t, func(t *testing.T) {
		x := newTrial(t, s, fault, rate)
		ctx, stop := context.WithTimeout(t.Context(), time.Duration(intervals)*interval+sound)
		defer stop()
		var beside sync.WaitGroup
		if s.streams {
			beside.Go(func() { x.speak(ctx) })
		}
		beside.Go(func() {
			if hand != nil {
				hand(x)
			}
			if x.clock.Sleep(ctx, time.Duration(intervals)*interval) == nil {
				x.line.Harm(fault, 0)
			}
		})
		scanner := daq.NewScanner(x.clock, x.lines)
		scanner.Subscribe(func(scan daq.Scan) error { x.scans = append(x.scans, scan); return nil })
		scanner.OnEvent(func(e daq.Event) { x.events = append(x.events, e) })
		require.NoError(t, scanner.Run(ctx))
		x.timing = scanner.Timing()
		beside.Wait()
		for _, l := range x.lines {
			require.NoError(t, l.Close())
		}
		out = x.judge()
		out.due = intervals + int(sound/interval)
	})
	return out
}

func newTrial(t *testing.T, s subject, fault daqtest.Fault, rate float64) *trial {
	b, err := bench.Parse("bench.toml", []byte(tomlOf(s)))
	require.NoError(t, err)
	x := &trial{t: t, s: s, cable: &daqtest.Cable{}, clock: daq.NewWallClock(), told: &told{}}
	x.line = &daqtest.Faulty{Cable: x.cable, Fault: fault, Rate: rate, Latest: late,
		Character: link.CharacterTime(19200, 10), Other: s.other}
	x.line.Seed(uint64(len(s.name)*1000) + uint64(len(fault.Name)*100) + uint64(1000*rate))
	if !s.streams {
		x.cable.Heard = func(request []byte) {
			if !x.mute.Load() {
				x.say(request)
			}
		}
	}
	w, err := b.Wire(x.clock, bench.WireOptions{Dial: func(string) (link.Conn, error) { return x.cable.Dial() }})
	require.NoError(t, err)
	x.lines = w.Lines
	return x
}

// say answers a request, or says the next line.
func (x *trial) say(request []byte) {
	if x.s.aside != nil {
		if said := x.s.aside(request); said != nil {
			x.line.Say(said)
			return
		}
	}
	if answer := x.s.answer(request, x.told.count()); answer != nil {
		x.told.next(x.clock.Now())
		x.line.Say(answer)
	}
}

// speak says a line each interval, as an instrument that streams does.
func (x *trial) speak(ctx context.Context) {
	for k := 0; x.clock.Sleep(ctx, time.Duration(k)*interval+interval/2) == nil; k++ {
		if !x.mute.Load() {
			x.say(nil)
		}
	}
}

// judge holds every value recorded against what was true then.
func (x *trial) judge() outcome {
	said := x.told.all()
	out := outcome{asked: len(said), read: len(x.scans)}
	_, out.harmed = x.line.Counts()
	age := 2*patience + time.Second
	before := -1
	for _, scan := range x.scans {
		n, ok := x.which(scan, said)
		switch {
		case scan.Readings[0].Health != daq.Healthy && scan.Readings[1].Health != daq.Healthy:
			out.read-- // it says that it has no value
			continue
		case !ok || n < before || n == before && !x.s.streams: // a line that is said twice is true twice
			out.wrong++
			continue
		case x.s.streams:
			old := scan.At - said[n]
			out.oldest = max(out.oldest, old)
			ok = old >= 0 && (old < age || x.line.Fault.Name == daqtest.Delayed.Name || x.line.Fault.Name == daqtest.AnyOf().Name)
		default: // it must be the answer to the last request before it
			ok = n == sort.Search(len(said), func(i int) bool { return said[i] > scan.At })-1
		}
		if !ok {
			out.wrong++
			continue
		}
		before = n
	}
	out.gaps = x.gaps()
	out.counted = x.timing[0].Counted
	require.NotEmpty(x.t, out.counted)
	return out
}

// which finds the saying that a scan's readings are of; ok is false when there
// is none.
func (x *trial) which(scan daq.Scan, said []time.Duration) (n int, ok bool) {
	p, temperature := scan.Readings[0], scan.Readings[1]
	switch {
	case p.Health != daq.Healthy:
		require.True(x.t, math.IsNaN(p.Value))
		n = int(temperature.Raw)
	default:
		n = int(math.Round(p.Raw * 16))
	}
	ok = n >= 0 && n < len(said) && (p.Health != daq.Healthy || pressureOf(n) == p.Raw) &&
		(temperature.Health != daq.Healthy || temperatureOf(n) == temperature.Raw)
	return n, ok
}

// gaps counts the gaps that were told, and sees to it that each hole is one
// and that each has ended.
func (x *trial) gaps() int {
	var gaps []daq.Event
	for _, e := range x.events {
		if e.Kind == daq.Gap && e.Until != daq.Open {
			gaps = append(gaps, e)
		}
	}
	last, most := time.Duration(0), 5*interval/2
	if name := x.line.Fault.Name; name == daqtest.Delayed.Name || name == daqtest.Dribbled.Name || name == daqtest.AnyOf().Name {
		most += patience // an answer that comes in time is no gap
	}
	for _, scan := range x.scans {
		if scan.At-last > most {
			assert.True(x.t, covered(gaps, last, scan.At), "%s: a hole from %v to %v that is no gap", x.s.name, last, scan.At)
		}
		last = scan.At
	}
	require.NotEmpty(x.t, x.scans, "nothing was read at all")
	assert.Less(x.t, x.clock.Now()-last, 3*interval, "it does not read at the end, when the line is sound again")
	return len(gaps)
}

func covered(gaps []daq.Event, from, until time.Duration) bool {
	for _, g := range gaps {
		if g.At <= from+interval && g.Until >= until-interval {
			return true
		}
	}
	return false
}
