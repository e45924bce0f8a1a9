package simbench

import (
	"bytes"
	"container/heap"
	"context"
	"runtime"
	"strconv"
	"sync"
	"time"

	"holdbench/daq"
)

var _ daq.Clock = (*LockStep)(nil)

// writeOff is how long, on the wall clock, bytes may stay in flight before
// the lock-step clock takes it that their reader is gone.
const writeOff = 2 * time.Second

// LockStep is a discrete-event clock. It stands still while any joined
// goroutine is awake or bytes of a streaming instrument are in flight; when
// all is quiet it jumps to the earliest time that a sleeper waits for and
// wakes that one alone (of several at one instant the one that joined
// first), so a run of many goroutines is serial and the same each time, even
// over real ttys.
//
// A goroutine that sleeps without having joined counts as joined while it
// sleeps. Instruments of the simulated bench are followers: they are woken in
// their turn, but time does not run for their sake alone, so nothing happens
// before the program has joined.
type LockStep struct {
	start time.Time

	mu       sync.Mutex
	now      time.Duration
	awake    int // joined goroutines and followers that are awake
	drivers  int // sleepers for whose sake time runs
	order    int // of joining
	members  map[uint64]*member
	sleepers sleepers

	flight     map[string]int // bytes in flight by link
	inFlight   int
	taken      int // rises whenever bytes are taken
	guardArmed bool
}

// member is a goroutine that keeps pace by the clock.
type member struct {
	order    int
	nested   int  // joins less leaves of one goroutine
	follower bool // does not drive the clock
	passing  bool // sleeps without having joined

	until time.Duration
	index int // in the heap, -1 while awake
	wake  chan struct{}
}

// NewLockStep returns a lock-step clock that stands at zero, which is the
// calendar instant start.
func NewLockStep(start time.Time) *LockStep {
	return &LockStep{start: start, members: map[uint64]*member{}, flight: map[string]int{}}
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

// Join makes the calling goroutine one for which the clock stands still while
// it is awake. It must be the goroutine itself that joins, sleeps and leaves;
// joins may be nested, each with its own leave. Calling leave twice does
// nothing more.
func (c *LockStep) Join() (leave func()) {
	id := goroutineID()
	c.mu.Lock()
	defer c.mu.Unlock()
	m := c.members[id]
	if m == nil {
		m = c.newMember()
		c.members[id] = m
		c.awake++
	}
	m.nested++
	var once sync.Once
	return func() { once.Do(func() { c.leave(id, m) }) }
}

func (c *LockStep) leave(id uint64, m *member) {
	c.mu.Lock()
	defer c.mu.Unlock()
	m.nested--
	if m.nested > 0 {
		return
	}
	delete(c.members, id)
	c.awake--
	c.advance()
}

// follow returns a follower: woken in its turn, with the clock waiting for it
// while it is awake, but never the reason why time runs. leave ends it; it
// must be awake then.
func (c *LockStep) follow() (sleep func(ctx context.Context, until time.Duration) error, leave func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	m := c.newMember()
	m.follower = true
	c.awake++
	sleep = func(ctx context.Context, until time.Duration) error { return c.sleepAs(ctx, m, until) }
	leave = func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.awake--
		c.advance()
	}
	return sleep, leave
}

// newMember needs c.mu.
func (c *LockStep) newMember() *member {
	c.order++
	return &member{order: c.order, index: -1, wake: make(chan struct{}, 1)}
}

// Sleep returns nil when Now() ≥ until, or the context's error.
func (c *LockStep) Sleep(ctx context.Context, until time.Duration) error {
	id := goroutineID()
	c.mu.Lock()
	m := c.members[id]
	if m == nil {
		m = c.newMember()
		m.passing = true
	}
	c.mu.Unlock()
	return c.sleepAs(ctx, m, until)
}

func (c *LockStep) sleepAs(ctx context.Context, m *member, until time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	c.mu.Lock()
	if until <= c.now {
		c.mu.Unlock()
		return nil
	}
	m.until = until
	heap.Push(&c.sleepers, m)
	if !m.passing {
		c.awake--
	}
	if !m.follower {
		c.drivers++
	}
	c.advance()
	c.mu.Unlock()

	select {
	case <-m.wake:
		return nil
	case <-ctx.Done():
		c.mu.Lock()
		defer c.mu.Unlock()
		if m.index >= 0 {
			heap.Remove(&c.sleepers, m.index)
			c.rouse(m)
			c.advance()
		} else {
			<-m.wake // woken in the same moment
		}
		return ctx.Err()
	}
}

// rouse counts a sleeper that has left the heap as awake. It needs c.mu.
func (c *LockStep) rouse(m *member) {
	if !m.follower {
		c.drivers--
	}
	if !m.passing {
		c.awake++
	}
}

// advance wakes the next sleeper if all is quiet. It needs c.mu.
func (c *LockStep) advance() {
	for c.awake == 0 && c.drivers > 0 {
		if c.inFlight > 0 {
			c.guard()
			return
		}
		m := heap.Pop(&c.sleepers).(*member)
		c.now = max(c.now, m.until)
		c.rouse(m)
		m.wake <- struct{}{}
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
	before := c.taken
	time.AfterFunc(writeOff, func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.guardArmed = false
		if c.taken == before && c.inFlight > 0 {
			clear(c.flight)
			c.inFlight = 0
			c.taken++
		}
		c.advance()
	})
}

// sleepers is a heap: earliest first, then who joined first.
type sleepers []*member

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
	m := x.(*member)
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

// goroutineID is the number that a stack trace shows. daq.Clock speaks of the
// calling goroutine without naming it, and a lock-step clock has to tell one
// that joined from one that did not.
func goroutineID() uint64 {
	var buf [40]byte
	text := buf[:runtime.Stack(buf[:], false)]
	text = bytes.TrimPrefix(text, []byte("goroutine "))
	if i := bytes.IndexByte(text, ' '); i >= 0 {
		text = text[:i]
	}
	id, err := strconv.ParseUint(string(text), 10, 64)
	if err != nil {
		panic("simbench: a stack trace does not begin with the goroutine's number")
	}
	return id
}
