package daq

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"
)

// Source is one instrument on a line and what becomes of its signals.
type Source struct {
	// Name is the instrument's name; it stands in scans and events.
	Name       string
	Instrument Instrument
	// Channels are indices into the bench's list of channels, in the order of
	// the instrument's signals.
	Channels []int
	// Labels are the names of those channels, for events; may be shorter or
	// nil.
	Labels []string
	// Interval is the time between two scans. For a source that streams it is
	// the time between two lines that the instrument is expected to send; 0
	// when nothing is known.
	Interval time.Duration
	// Streams says that the instrument sets the pace: it is read all the time
	// and its lines are stamped on arrival. It owns its line alone.
	Streams bool
	// Stamp returns the instant, on the clock, of what the last Sample learned:
	// when the answer, or the line of a stream, began on the wire, its time of
	// arrival less the time that its characters took. Nil: half-way between the
	// call of Sample and its return; of a stream, the return.
	Stamp func() time.Duration
	// Convert turns the signals of the scan of that instant into readings: it
	// fills Raw, Value and Health; Channel is set already. Instants rise.
	// len(dst) == len(src) == len(Channels).
	Convert func(at time.Duration, dst []Reading, src []Signal)
	// Found returns what a scan shows to have happened, such as edges of
	// digital inputs; it is called with every scan, in their order. Nil: nothing
	// ever.
	Found func(Scan) []Event
	// News returns what the instrument has to tell besides its signals since the
	// last call, without times: what it says that it is (a Note), that it is
	// another one than before (a Fault). It is asked after every Sample. Nil:
	// nothing ever.
	News func() []Event
	// Counted says in words how the exchanges went so far, or what became no
	// reading, for people and recordings; any goroutine may ask. Of instruments
	// that share a line it may be all of the line. Nil: nothing is counted.
	Counted func() string
	// Driver switches the instrument's outputs. Nil: nothing is ever written to
	// it. Outputs are what it switches, in its order.
	Driver  Driver
	Outputs []Output
}

// Line is one wire, or one socket: its sources are read one after another by
// one goroutine, which owns it.
type Line struct {
	Name    string
	Sources []Source
	// Reopen opens the line again after Gone; it is tried with a growing
	// pause until it succeeds. Nil: the line cannot be reopened.
	Reopen func(ctx context.Context) error
	// Gone says of an error that the line itself is away. Nil: never.
	Gone func(err error) bool
	// Close is called by the line's owner when scanning is over; the scanner
	// does not.
	Close func() error
}

// The pause before a line that is gone is opened again: the first one, and
// what it grows to by doubling.
const (
	firstPause   = 250 * time.Millisecond
	longestPause = 5 * time.Second
)

// Scanner reads every line from start to stop and hands what it reads to
// those who subscribed. It is the only scan loop of the program.
type Scanner struct {
	clock Clock
	lines []Line
	out   *delivery
	leave func() // of the join that NewScanner took for Run

	orders []orders // by line

	pacing sync.Mutex
	paces  [][]pace // by line and source
}

// NewScanner returns a scanner over lines that are open. Nothing is read
// before Run, and a lock-step clock stands still until then, so that whoever
// has joined it may sleep without running ahead of the scanner.
func NewScanner(clock Clock, lines []Line) *Scanner {
	s := &Scanner{clock: clock, lines: lines, out: newDelivery(clock), leave: clock.Join(),
		orders: make([]orders, len(lines)), paces: make([][]pace, len(lines))}
	for i, l := range lines {
		for _, src := range l.Sources {
			s.paces[i] = append(s.paces[i], pace{Timing: Timing{Instrument: src.Name, Streams: src.Streams, Nominal: src.Interval}})
		}
	}
	return s
}

// Subscribe has each called with every scan from now on, one call at a time,
// in the order of their times; at the same instant in the order of the lines.
// Subscribers are called in the order in which they came. An error that each
// returns ends Run with that error. After cancel no call begins; one that is
// under way may still end, and its error counts no more.
func (s *Scanner) Subscribe(each func(Scan) error) (cancel func()) {
	return s.out.subscribe(subscriber{scan: each})
}

// OnEvent has each called with every gap, fault, edge and driven output, and
// with every note, the last one about each subject also when it was before, in
// step with the scans.
func (s *Scanner) OnEvent(each func(Event)) (cancel func()) {
	return s.out.subscribe(subscriber{event: each})
}

// Run scans until ctx ends, and then returns nil; or until a subscriber
// returns an error, and then returns that. All that was read before has been
// delivered when it returns. It must not be called twice. In lock-step the
// calling goroutine must not be joined to the clock: it waits without sleeping.
//
// Outputs: every pump is switched off before its instrument is asked for
// anything, again when a line that was gone is back, when subscribers stand
// still while it runs, and when scanning ends in whatever way, a panic of a subscriber or of an instrument included, which
// comes back as a *PanicError. Nothing else is driven but by Order and Drive.
//
// It returns an error at once when a streaming source shares its line, or a
// polled one has no interval; whoever waits in Drive then has ErrAway.
func (s *Scanner) Run(ctx context.Context) error {
	for _, l := range s.lines {
		if err := l.check(); err != nil {
			s.leave()
			for i := range s.orders {
				s.orders[i].end()
			}
			return err
		}
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()

	// The clock stands still until every polling goroutine has joined it.
	start := s.clock.Now()
	var running, joining sync.WaitGroup
	broken := make([]error, len(s.lines))
	for i := range s.lines {
		r := newReader(s, i, start)
		joining.Add(1)
		ready := sync.OnceFunc(joining.Done)
		running.Go(func() {
			if broken[i] = guarded(func() { r.run(ctx, ready) }); broken[i] != nil {
				ready()
				stop()
			}
			broken[i] = errors.Join(broken[i], guarded(func() { r.part(ctx) }))
		})
	}
	var delivering sync.WaitGroup
	over := make(chan struct{})
	var refused error
	delivering.Go(func() {
		panicked := guarded(func() { refused = s.out.run(ctx, over) })
		if refused = errors.Join(refused, panicked); refused != nil {
			stop()
		}
	})
	joining.Wait()
	s.leave()

	<-ctx.Done()
	running.Wait()
	close(over)
	delivering.Wait()
	return errors.Join(append(broken, refused)...)
}

func (l Line) check() error {
	for _, src := range l.Sources {
		if src.Streams && len(l.Sources) > 1 {
			return fmt.Errorf("line %s: %s streams and must have the line to itself", l.Name, src.Name)
		}
		if !src.Streams && src.Interval <= 0 {
			return fmt.Errorf("line %s: %s: no interval", l.Name, src.Name)
		}
	}
	return nil
}
