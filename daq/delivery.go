package daq

import (
	"cmp"
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

// parcel is one scan or one event on its way to the subscribers.
type parcel struct {
	when  time.Duration // clock time at which it was learned
	line  int
	scan  *Scan
	event *Event
	// driving goes with the event that tells of it.
	driving *Driving
}

type subscriber struct {
	// owed are the notes of before it came.
	owed      *[]Event
	scan      func(Scan) error
	event     func(Event)
	driven    func(Driving)
	cancelled *atomic.Bool
}

// delivery parts reading from telling: a slow subscriber holds up no line,
// and what came from several lines at one instant is told in a fixed order.
//
// A parcel is told when the clock has gone past the instant at which it was
// learned, by the smallest step there is. On the wall clock that is at once;
// on a lock-step clock it is when every line has said all that it has to say
// about that instant.
type delivery struct {
	clock Clock

	mu          sync.Mutex
	parcels     []parcel
	busy        bool
	telling     time.Duration // while busy: when the oldest that is not told was learned
	wake        chan func()   // carries the leave of the Join made by put
	subscribers []subscriber
	notes       []Event // the last one about each subject
}

func newDelivery(clock Clock) *delivery {
	return &delivery{clock: clock, wake: make(chan func(), 1)}
}

func (d *delivery) subscribe(s subscriber) (cancel func()) {
	s.cancelled = new(atomic.Bool)
	d.mu.Lock()
	defer d.mu.Unlock()
	if s.event != nil && len(d.notes) > 0 {
		owed := slices.Clone(d.notes)
		s.owed = &owed
	}
	d.subscribers = append(slices.Clip(d.subscribers), s)
	return func() {
		s.cancelled.Store(true)
		d.mu.Lock()
		defer d.mu.Unlock()
		d.subscribers = slices.DeleteFunc(slices.Clone(d.subscribers), func(o subscriber) bool {
			return o.cancelled == s.cancelled
		})
	}
}

// put takes a parcel; it never blocks. The clock is joined on behalf of the
// telling goroutine while the caller still holds the clock.
func (d *delivery) put(p parcel) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.parcels = append(d.parcels, p)
	if !d.busy {
		d.busy, d.telling = true, p.when
		d.wake <- d.clock.Join()
	}
}

// run tells parcels until over is closed and nothing is left, or until a
// subscriber returns an error; it returns that, and nothing is told after it.
func (d *delivery) run(ctx context.Context, over <-chan struct{}) error {
	for {
		select {
		case leave := <-d.wake:
			if err := d.tellWhile(ctx, leave); err != nil {
				return err
			}
		case <-over:
			select {
			case leave := <-d.wake: // both were ready
				return d.tellWhile(ctx, leave)
			default:
				return nil
			}
		}
	}
}

// tellWhile is tellAll, with leave after it.
func (d *delivery) tellWhile(ctx context.Context, leave func()) error {
	defer leave()
	return d.tellAll(ctx)
}

// tellAll tells what has been put, until there is nothing.
func (d *delivery) tellAll(ctx context.Context) error {
	for {
		first, ok := d.earliest()
		if !ok {
			return nil
		}
		until := first + 1
		if d.clock.Sleep(ctx, until) == nil {
			until = d.clock.Now()
		} else {
			until = 1<<63 - 1 // the run is over: tell all that is left
		}
		for _, p := range d.before(until) {
			if err := d.tell(p); err != nil {
				return err
			}
		}
	}
}

// earliest returns the time of the first parcel; without one the delivery is
// no longer busy.
func (d *delivery) earliest() (when time.Duration, ok bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.parcels) == 0 {
		d.busy = false
		return 0, false
	}
	first := slices.MinFunc(d.parcels, func(a, b parcel) int { return cmp.Compare(a.when, b.when) })
	d.telling = first.when
	return first.when, true
}

// behind is how long ago the oldest was learned that not everybody was told
// yet.
func (d *delivery) behind(now time.Duration) time.Duration {
	d.mu.Lock()
	defer d.mu.Unlock()
	if !d.busy {
		return 0
	}
	return now - d.telling
}

// before takes out what was learned before until, in order.
func (d *delivery) before(until time.Duration) []parcel {
	d.mu.Lock()
	defer d.mu.Unlock()
	var due, later []parcel
	for _, p := range d.parcels {
		if p.when < until {
			due = append(due, p)
		} else {
			later = append(later, p)
		}
	}
	d.parcels = later
	slices.SortStableFunc(due, func(a, b parcel) int {
		return cmp.Or(cmp.Compare(a.when, b.when), cmp.Compare(a.line, b.line))
	})
	return due
}

func (d *delivery) tell(p parcel) error {
	d.mu.Lock()
	subscribers := d.subscribers
	d.telling = p.when
	if e := p.event; e != nil && e.Kind == Note {
		d.notes = append(slices.DeleteFunc(d.notes, func(n Event) bool { return n.Subject == e.Subject }), *e)
	}
	d.mu.Unlock()
	for _, s := range subscribers {
		s.pay(p.when)
		switch {
		case s.cancelled.Load():
		case p.scan != nil && s.scan != nil:
			if err := s.scan(*p.scan); err != nil && !s.cancelled.Load() {
				return err
			}
		case p.event != nil && s.event != nil:
			s.event(*p.event)
		}
		if p.driving != nil && s.driven != nil && !s.cancelled.Load() {
			s.driven(*p.driving)
		}
	}
	return nil
}

// pay tells a subscriber that has just come the notes of before, as of now.
func (s subscriber) pay(now time.Duration) {
	if s.owed == nil {
		return
	}
	for _, e := range *s.owed {
		e.At, e.Until = now, now
		if !s.cancelled.Load() {
			s.event(e)
		}
	}
	*s.owed = nil
}
