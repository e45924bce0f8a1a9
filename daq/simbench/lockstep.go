package simbench

import (
	"container/heap"
	"context"
	"sync"
	"time"

	"holdbench/daq"
)

var _ daq.Clock = (*LockStep)(nil)

// How long, on the wall clock, bytes may stay in flight before the lock-step
// clock takes it that their reader is gone: writeOff, and writeOffAgain as long
// as nobody has read anything since.
const (
	writeOff      = 2 * time.Second
	writeOffAgain = 50 * time.Millisecond
)

// LockStep is a discrete-event clock. It stands still while any joined
// goroutine is awake or bytes of a streaming instrument are in flight; when
// all is quiet it jumps to the earliest time that a sleeper waits for and
// wakes that one alone (of several at one instant the one that has slept
// longest), so a run of many goroutines is serial and the same each time,
// even over real ttys.
//
// A join is counted, not tied to a goroutine: it may be taken by one and
// handed to another that has not begun yet, which then keeps pace. A
// goroutine therefore joins once, not twice. One that sleeps without any join
// is woken in its turn, but nobody waits for it once it is awake.
//
// Instruments of the simulated bench are followers: they are woken in their
// turn and waited for, but time does not run for their sake alone, so nothing
// happens before the program has joined.
type LockStep struct {
	start time.Time

	mu       sync.Mutex
	now      time.Duration
	joined   int
	asleep   int // sleepers that are not followers
	busy     int // followers that are awake
	order    int // of falling asleep
	sleepers sleepers

	flight     map[string]int // bytes in flight by link
	inFlight   int
	taken      int // rises whenever bytes are taken
	guardArmed bool
	deaf       bool // the last bytes were written off
}

// sleeper is a goroutine in Sleep.
type sleeper struct {
	until    time.Duration
	order    int
	follower bool
	index    int // in the heap, -1 once woken
	wake     chan struct{}
}

// NewLockStep returns a lock-step clock that stands at zero, which is the
// calendar instant start.
func NewLockStep(start time.Time) *LockStep {
	return &LockStep{start: start, flight: map[string]int{}}
}

// Now is the time since the clock's start.
func (c *LockStep) Now() time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Date is the calendar instant of a clock time.
func (c *LockStep) Date(at time.Duration) time.Time { return c.start.Add(at) }

// Kind is "lock-step".
func (c *LockStep) Kind() string { return "lock-step" }

// Join makes the clock stand still while one goroutine more is awake, until
// leave. Calling leave twice does nothing more.
func (c *LockStep) Join() (leave func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.joined++
	return c.leaving(&c.joined)
}

// follow adds a follower, awake: it is woken in its turn, with the clock
// waiting for it while it is awake, but never the reason why time runs. leave
// ends it; it must be awake then.
func (c *LockStep) follow() (sleep func(ctx context.Context, until time.Duration) error, leave func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.busy++
	sleep = func(ctx context.Context, until time.Duration) error { return c.sleep(ctx, until, true) }
	return sleep, c.leaving(&c.busy)
}

func (c *LockStep) leaving(count *int) func() {
	var once sync.Once
	return func() {
		once.Do(func() {
			c.mu.Lock()
			defer c.mu.Unlock()
			*count--
			c.advance()
		})
	}
}

// Sleep returns nil when Now() ≥ until, or the context's error.
func (c *LockStep) Sleep(ctx context.Context, until time.Duration) error {
	return c.sleep(ctx, until, false)
}

func (c *LockStep) sleep(ctx context.Context, until time.Duration, follower bool) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	c.mu.Lock()
	if until <= c.now {
		c.mu.Unlock()
		return nil
	}
	c.order++
	s := &sleeper{until: until, order: c.order, follower: follower, wake: make(chan struct{}, 1)}
	heap.Push(&c.sleepers, s)
	c.count(s, 1)
	c.advance()
	c.mu.Unlock()

	select {
	case <-s.wake:
		return nil
	case <-ctx.Done():
		c.mu.Lock()
		defer c.mu.Unlock()
		if s.index >= 0 { // else woken in the same moment
			heap.Remove(&c.sleepers, s.index)
			c.count(s, -1)
			c.advance()
		}
		return ctx.Err()
	}
}

// count notes that a sleeper fell asleep (1) or woke (-1). It needs c.mu.
func (c *LockStep) count(s *sleeper, by int) {
	if s.follower {
		c.busy -= by
	} else {
		c.asleep += by
	}
}

// advance wakes the next sleeper if all is quiet. It needs c.mu.
func (c *LockStep) advance() {
	for c.busy == 0 && c.asleep > 0 && c.asleep >= c.joined {
		if c.inFlight > 0 {
			c.guard()
			return
		}
		s := heap.Pop(&c.sleepers).(*sleeper)
		c.now = max(c.now, s.until)
		c.count(s, -1)
		s.wake <- struct{}{}
	}
}

// Sent says that n bytes are about to be written to the program on that link.
// The clock stands still until the program has taken them.
func (c *LockStep) Sent(link string, n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.flight[link] += n
	c.inFlight += n
}

// Taken returns the function by which the program's reader of that link says
// that it has dealt with n more bytes (see link.Options.Taken). Bytes that
// nobody announced by Sent, such as replies to requests, are ignored.
func (c *LockStep) Taken(link string) func(n int) {
	return func(n int) {
		c.mu.Lock()
		defer c.mu.Unlock()
		n = min(n, c.flight[link])
		if n <= 0 {
			return
		}
		c.flight[link] -= n
		c.inFlight -= n
		c.taken++
		c.deaf = false
		c.advance()
	}
}

// drop writes off whatever is in flight on a link whose cable was pulled.
func (c *LockStep) drop(link string) { c.Taken(link)(int(^uint(0) >> 1)) }

// guard sees to it that bytes nobody reads do not stop the clock for ever. It
// needs c.mu.
func (c *LockStep) guard() {
	if c.guardArmed {
		return
	}
	c.guardArmed = true
	before, wait := c.taken, writeOff
	if c.deaf {
		wait = writeOffAgain
	}
	time.AfterFunc(wait, func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.guardArmed = false
		if c.taken == before && c.inFlight > 0 {
			clear(c.flight)
			c.inFlight = 0
			c.deaf = true
		}
		c.advance()
	})
}

// sleepers is a heap: earliest first, then who fell asleep first.
type sleepers []*sleeper

func (s sleepers) Len() int { return len(s) }
func (s sleepers) Less(i, j int) bool {
	if s[i].until != s[j].until {
		return s[i].until < s[j].until
	}
	return s[i].order < s[j].order
}
func (s sleepers) Swap(i, j int) {
	s[i], s[j] = s[j], s[i]
	s[i].index, s[j].index = i, j
}
func (s *sleepers) Push(x any) {
	m := x.(*sleeper)
	m.index = len(*s)
	*s = append(*s, m)
}
func (s *sleepers) Pop() any {
	last := len(*s) - 1
	m := (*s)[last]
	*s = (*s)[:last]
	m.index = -1
	return m
}
