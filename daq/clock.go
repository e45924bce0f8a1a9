package daq

import (
	"context"
	"sync/atomic"
	"time"
)

// wallClock is the time of the room; Join costs nothing on it.
type wallClock struct {
	start time.Time
	// still: time does not pass while the program waits by other means than
	// timers, as in a testing/synctest bubble.
	still atomic.Bool
}

// NewWallClock returns a clock that starts now and goes as the wall clock
// does. Now is monotonic: setting the computer's clock does not move it.
func NewWallClock() Clock { return &wallClock{start: time.Now()} }

func (c *wallClock) Now() time.Duration { return time.Since(c.start) }

func (c *wallClock) Date(at time.Duration) time.Time { return c.start.Round(0).Add(at) }

// Sleep waits by a timer, and for the last of it, where timers are coarse,
// more finely: the silent interval between two frames is less than two
// milliseconds.
func (c *wallClock) Sleep(ctx context.Context, until time.Duration) error {
	if err := c.sleep(ctx, until-coarseness); err != nil {
		return err
	}
	for !c.still.Load() {
		now := c.Now()
		if now >= until || coarseness == 0 {
			break
		}
		doze(until - now)
		c.still.Store(c.Now() == now)
	}
	return c.sleep(ctx, until)
}

func (c *wallClock) sleep(ctx context.Context, until time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	wait := until - c.Now()
	if wait <= 0 {
		return nil
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (c *wallClock) Join() (leave func()) { return func() {} }

func (c *wallClock) Kind() string { return "wall" }
