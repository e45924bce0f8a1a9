package daq_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
)

// instrument is a function that samples.
type instrument func(ctx context.Context, dst []daq.Signal) error

func (f instrument) Sample(ctx context.Context, dst []daq.Signal) error { return f(ctx, dst) }

// takes is an instrument whose exchange takes d and answers 1.
func takes(d time.Duration) instrument {
	return func(ctx context.Context, dst []daq.Signal) error {
		time.Sleep(d)
		dst[0] = daq.Signal{Raw: 1}
		return nil
	}
}

func asSent(_ time.Duration, dst []daq.Reading, src []daq.Signal) {
	for i, s := range src {
		dst[i].Raw, dst[i].Value, dst[i].Health = s.Raw, s.Raw, s.Health
	}
}

func source(name string, channel int, interval time.Duration, in daq.Instrument) daq.Source {
	return daq.Source{Name: name, Instrument: in, Channels: []int{channel}, Labels: []string{name + " value"},
		Interval: interval, Convert: asSent}
}

// log keeps what a scanner tells.
type log struct {
	scans  map[string][]daq.Scan
	order  []daq.Scan
	events []daq.Event
}

// run scans the lines for that long and returns what was told.
func run(t *testing.T, span time.Duration, lines ...daq.Line) *log {
	l := &log{scans: map[string][]daq.Scan{}}
	s := daq.NewScanner(daq.NewWallClock(), lines)
	s.Subscribe(func(scan daq.Scan) error {
		l.scans[scan.Instrument] = append(l.scans[scan.Instrument], scan)
		l.order = append(l.order, scan)
		return nil
	})
	s.OnEvent(func(e daq.Event) { l.events = append(l.events, e) })
	ctx, stop := context.WithTimeout(t.Context(), span)
	defer stop()
	require.NoError(t, s.Run(ctx))
	return l
}

func TestScanKeepsItsGridForAnHour(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const exchange = 20 * time.Millisecond
		fast := source("fast", 0, 100*time.Millisecond, takes(exchange))
		slow := source("slow", 1, 1*time.Second, takes(exchange))
		l := run(t, time.Hour+50*time.Millisecond, daq.Line{Name: "a", Sources: []daq.Source{fast, slow}})
		require.Len(t, l.scans["fast"], 36001)
		require.Len(t, l.scans["slow"], 3601)
		for k, s := range l.scans["fast"] {
			require.Equal(t, time.Duration(k)*100*time.Millisecond+exchange/2, s.At, "scan %d", k)
		}
		for k, s := range l.scans["slow"] { // they wait for the fast one each time
			require.Equal(t, time.Duration(k)*time.Second+exchange+exchange/2, s.At, "scan %d", k)
		}
		assert.Empty(t, l.events)
	})
}

func TestScanLeavesOutTicksThatASlowInstrumentMisses(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := run(t, time.Minute-100*time.Millisecond, daq.Line{Sources: []daq.Source{
			source("slow", 0, 100*time.Millisecond, takes(130*time.Millisecond))}})
		for k, s := range l.scans["slow"] {
			require.Equal(t, time.Duration(k)*200*time.Millisecond+65*time.Millisecond, s.At)
		}
		assert.Len(t, l.scans["slow"], 300)
		assert.Empty(t, l.events)
	})
}

func TestScanIsStampedWhenTheAnswerBegan(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := daq.NewWallClock()
		var began time.Duration
		src := source("late", 0, time.Second, instrument(func(ctx context.Context, dst []daq.Signal) error {
			time.Sleep(300 * time.Millisecond) // for an answer that is owed
			began = clock.Now()
			time.Sleep(20 * time.Millisecond) // its characters
			dst[0] = daq.Signal{Raw: 1}
			return nil
		}))
		src.Stamp = func() time.Duration { return began }
		l := run(t, time.Second/2, daq.Line{Sources: []daq.Source{src}})
		assert.Equal(t, 300*time.Millisecond, l.scans["late"][0].At)
	})
}

func TestDeadInstrumentLeavesTheLineToTheOthers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		calls := 0
		dead := instrument(func(ctx context.Context, dst []daq.Signal) error {
			calls++
			time.Sleep(500 * time.Millisecond)
			return errors.New("no answer")
		})
		l := run(t, 100*time.Second, daq.Line{Sources: []daq.Source{
			source("dead", 0, 100*time.Millisecond, dead),
			source("alive", 1, 100*time.Millisecond, takes(10*time.Millisecond))}})
		assert.Greater(t, len(l.scans["alive"]), 850)
		assert.Greater(t, calls, 15, "it is still asked")
		assert.Equal(t, []daq.Event{{At: 0, Until: daq.Open, Kind: daq.Gap, Subject: "dead", Text: "no answer"}}, l.events)
	})
}

var errAway = errors.New("away")

func TestScanMarksGapWhenPortVanishes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		away := func() bool {
			now := time.Since(start)
			return now >= 10*time.Second && now < 20*time.Second
		}
		sick := instrument(func(ctx context.Context, dst []daq.Signal) error {
			if away() {
				return errAway
			}
			dst[0] = daq.Signal{Raw: 1}
			return nil
		})
		var tried []time.Duration
		line := daq.Line{
			Name:    "sick",
			Sources: []daq.Source{source("one", 0, 100*time.Millisecond, sick), source("two", 1, 200*time.Millisecond, sick)},
			Gone:    func(err error) bool { return errors.Is(err, errAway) },
			Reopen: func(context.Context) error {
				tried = append(tried, time.Since(start))
				if away() {
					return errAway
				}
				return nil
			},
		}
		well := daq.Line{Name: "well", Sources: []daq.Source{source("three", 2, 100*time.Millisecond, takes(0))}}
		l := run(t, 30*time.Second+50*time.Millisecond, line, well)

		assert.Equal(t, []time.Duration{
			10250 * time.Millisecond, 10750 * time.Millisecond, 11750 * time.Millisecond,
			13750 * time.Millisecond, 17750 * time.Millisecond, 22750 * time.Millisecond,
		}, tried, "a pause that doubles up to five seconds")
		gap := func(name string, from, until time.Duration) daq.Event {
			// the one that was asked says more than the other on its line
			text := map[string]string{"one": "away", "two": "line sick: the port is gone"}[name]
			return daq.Event{At: from, Until: until, Kind: daq.Gap, Subject: name, Text: text}
		}
		assert.Equal(t, []daq.Event{
			gap("one", 9900*time.Millisecond, daq.Open), gap("two", 9800*time.Millisecond, daq.Open),
			gap("one", 9900*time.Millisecond, 22800*time.Millisecond), gap("two", 9800*time.Millisecond, 22800*time.Millisecond),
		}, l.events)
		assert.Len(t, l.scans["three"], 301, "the other line goes on")
		assert.Len(t, l.scans["one"], 100+73)
	})
}

// Why a line does not come back is told, each reason once.
func TestScanTellsWhyALineDoesNotComeBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		reasons := []error{errAway, errors.New("no such port"), errors.New("no such port"), errors.New("more than one port fits"), nil}
		tries, out := 0, true
		in := instrument(func(_ context.Context, dst []daq.Signal) error {
			if out {
				return errAway
			}
			dst[0] = daq.Signal{Raw: 1}
			return nil
		})
		l := run(t, 20*time.Second, daq.Line{
			Name:    "rs485",
			Sources: []daq.Source{source("one", 0, 100*time.Millisecond, in)},
			Gone:    func(err error) bool { return errors.Is(err, errAway) },
			Reopen: func(context.Context) error {
				err := reasons[tries]
				tries++
				out = err != nil
				return err
			},
		})
		var told []string
		for _, e := range l.events {
			if e.Kind == daq.Fault {
				assert.Equal(t, "rs485", e.Subject)
				assert.Equal(t, e.At, e.Until)
				told = append(told, e.Text)
			}
		}
		assert.Equal(t, []string{"no such port", "more than one port fits"}, told)
	})
}

func TestScanMarksGapForAnInstrumentThatFails(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		calls := 0
		in := instrument(func(ctx context.Context, dst []daq.Signal) error {
			if calls++; calls == 3 {
				return errors.New("no answer")
			}
			dst[0] = daq.Signal{Raw: 1}
			return nil
		})
		l := run(t, time.Second, daq.Line{Sources: []daq.Source{source("one", 0, 100*time.Millisecond, in)}})
		assert.Equal(t, []daq.Event{
			{At: 100 * time.Millisecond, Until: daq.Open, Kind: daq.Gap, Subject: "one", Text: "no answer"},
			{At: 100 * time.Millisecond, Until: 300 * time.Millisecond, Kind: daq.Gap, Subject: "one", Text: "no answer"},
		}, l.events)
	})
}

func TestScanStampsStreamsOnArrivalAndMarksTheirGaps(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		k := 0
		// Lines every second; five of them do not come.
		in := instrument(func(ctx context.Context, dst []daq.Signal) error {
			wait := time.Second
			if k++; k == 4 {
				wait = 6 * time.Second
			}
			select {
			case <-time.After(wait):
				dst[0] = daq.Signal{Raw: float64(k)}
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
		src := source("stream", 0, time.Second, in)
		src.Streams = true
		l := run(t, 12500*time.Millisecond, daq.Line{Sources: []daq.Source{src}})
		var at []time.Duration
		for _, s := range l.scans["stream"] {
			at = append(at, s.At/time.Second)
		}
		assert.Equal(t, []time.Duration{1, 2, 3, 9, 10, 11, 12}, at)
		assert.Equal(t, []daq.Event{
			{At: 3 * time.Second, Until: daq.Open, Kind: daq.Gap, Subject: "stream", Text: "nothing came"},
			{At: 3 * time.Second, Until: 9 * time.Second, Kind: daq.Gap, Subject: "stream", Text: "nothing came"},
		}, l.events)
	})
}

func TestScanMarksASilentStreamWhileItIsSilent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in := instrument(func(ctx context.Context, dst []daq.Signal) error {
			select {
			case <-time.After(1500 * time.Millisecond):
				return errors.New("silent")
			case <-ctx.Done():
				return ctx.Err()
			}
		})
		src := source("stream", 0, time.Second, in)
		src.Streams = true
		l := run(t, 10*time.Second, daq.Line{Sources: []daq.Source{src}})
		assert.Equal(t, []daq.Event{{At: 0, Until: daq.Open, Kind: daq.Gap, Subject: "stream", Text: "silent"}}, l.events)
	})
}

func TestScanMarksFaultsOfChannels(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		health := []daq.Health{daq.Healthy, daq.OverRange, daq.OverRange, daq.Invalid, daq.Healthy}
		k := -1
		in := instrument(func(ctx context.Context, dst []daq.Signal) error {
			k++
			dst[0] = daq.Signal{Raw: 1, Health: health[min(k, len(health)-1)]}
			return nil
		})
		l := run(t, 950*time.Millisecond, daq.Line{Sources: []daq.Source{source("one", 0, 100*time.Millisecond, in)}})
		fault := func(from, until time.Duration, text string) daq.Event {
			return daq.Event{At: from, Until: until, Kind: daq.Fault, Subject: "one value", Text: text}
		}
		const tick = 100 * time.Millisecond
		assert.Equal(t, []daq.Event{
			fault(tick, daq.Open, "over range"), fault(tick, 3*tick, "over range"),
			fault(3*tick, daq.Open, "invalid"), fault(3*tick, 4*tick, "invalid"),
		}, l.events)
		for k, s := range l.scans["one"] {
			healthy := k == 0 || k >= 4
			assert.Equal(t, healthy, s.Readings[0].Value == 1, "a value only where it may be used")
		}
	})
}

func TestScanEndsWithTheErrorOfASubscriber(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		full := errors.New("disk full")
		s := daq.NewScanner(daq.NewWallClock(), []daq.Line{
			{Sources: []daq.Source{source("one", 0, 100*time.Millisecond, takes(0))}}})
		told := 0
		s.Subscribe(func(daq.Scan) error {
			if told++; told == 5 {
				return full
			}
			return nil
		})
		require.ErrorIs(t, s.Run(t.Context()), full)
		assert.Equal(t, 5, told, "nothing is told after an error")
	})
}

func TestScanTellsNothingAfterCancel(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := daq.NewScanner(daq.NewWallClock(), []daq.Line{
			{Sources: []daq.Source{source("one", 0, 100*time.Millisecond, takes(0))}}})
		told := 0
		var cancel func()
		cancel = s.Subscribe(func(daq.Scan) error {
			if told++; told == 3 {
				cancel()
				return errors.New("does not count any more")
			}
			return nil
		})
		ctx, stop := context.WithTimeout(t.Context(), time.Second)
		defer stop()
		require.NoError(t, s.Run(ctx))
		assert.Equal(t, 3, told)
	})
}

func TestSlowSubscriberHoldsUpNoLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := daq.NewScanner(daq.NewWallClock(), []daq.Line{
			{Sources: []daq.Source{source("one", 0, 100*time.Millisecond, takes(0))}}})
		var at []time.Duration
		s.Subscribe(func(scan daq.Scan) error {
			time.Sleep(250 * time.Millisecond)
			at = append(at, scan.At)
			return nil
		})
		ctx, stop := context.WithTimeout(t.Context(), 9950*time.Millisecond)
		defer stop()
		require.NoError(t, s.Run(ctx))
		require.Len(t, at, 100)
		for k := range at {
			require.Equal(t, time.Duration(k)*100*time.Millisecond, at[k])
		}
	})
}

func TestScanTellsOneInstantInTheOrderOfTheLines(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var lines []daq.Line
		for i, name := range []string{"a", "b", "c", "d"} {
			lines = append(lines, daq.Line{Name: name, Sources: []daq.Source{source(name, i, 100*time.Millisecond, takes(0))}})
		}
		l := run(t, 9950*time.Millisecond, lines...)
		for k, s := range l.order {
			if k > 0 {
				require.GreaterOrEqual(t, s.At, l.order[k-1].At)
			}
		}
		for _, scans := range l.scans {
			require.Len(t, scans, 100)
		}
	})
}

func TestScanRefusesAStreamThatSharesItsLine(t *testing.T) {
	stream := source("stream", 0, time.Second, takes(0))
	stream.Streams = true
	s := daq.NewScanner(daq.NewWallClock(), []daq.Line{
		{Name: "a", Sources: []daq.Source{stream, source("two", 1, time.Second, takes(0))}}})
	require.ErrorContains(t, s.Run(t.Context()), "stream streams and must have the line to itself")
	s = daq.NewScanner(daq.NewWallClock(), []daq.Line{{Name: "a", Sources: []daq.Source{source("two", 1, 0, takes(0))}}})
	require.ErrorContains(t, s.Run(t.Context()), "no interval")
}
