// Package daqtest knows what every instrument must do, and has lines to try
// it on: a cable in memory, and a pacer that makes a pseudo-terminal as slow
// as a real line. It is used by tests only.
package daqtest

import (
	"errors"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq/link"
)

// errPulled is what a Conn says when its cable was pulled out.
var errPulled = errors.New("input/output error")

// Cable is a line in memory between a link.Port and a test that plays the
// instrument. It works in a testing/synctest bubble.
type Cable struct {
	mu   sync.Mutex
	conn *cableConn // nil: nobody has opened it
	out  bool       // pulled out

	// Heard is called with what the program wrote, on the program's
	// goroutine; it may call Send. Nil: what is written is lost.
	Heard func(b []byte)
	// Taken sums up what the reader said that it has dealt with.
	Taken int

	pause    time.Duration // where not 0, bytes come one by one with this before each
	delay    time.Duration // what is sent comes so much later
	free     time.Time     // when the last of them has come
	verdicts []string      // what the reader said that it made of the bytes
}

// Port returns an open port on the cable; it is closed with the test.
func (c *Cable) Port(t testing.TB, config link.Config) *link.Port {
	p := link.Over(config, link.Options{Taken: c.took, Trace: c.traced}, c.Dial)
	require.NoError(t, p.Reopen())
	t.Cleanup(func() { require.NoError(t, p.Close()) })
	return p
}

func (c *Cable) took(n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.Taken += n
}

func (c *Cable) traced(e link.Traced) {
	if e.Verdict == "" {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.verdicts = append(c.verdicts, e.Verdict)
}

// Verdicts are what the port's owner said that it made of the bytes, in order.
func (c *Cable) Verdicts() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return slices.Clone(c.verdicts)
}

// Delay has everything that is sent from now on come that much later.
func (c *Cable) Delay(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.delay = d
}

// Dribble has each byte that is sent from now on come alone, with a pause
// before it; 0 ends that.
func (c *Cable) Dribble(pause time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.pause = pause
}

// Dial opens the program's end, for link.Over. It fails with
// link.ErrNoSuchPort while the cable is pulled out.
func (c *Cable) Dial() (link.Conn, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.out {
		return nil, link.ErrNoSuchPort
	}
	c.conn = &cableConn{cable: c, come: make(chan struct{}, 1), end: make(chan struct{})}
	return c.conn, nil
}

// Send makes bytes come out of the program's end. They are lost while the
// cable is not open.
func (c *Cable) Send(b []byte) {
	c.mu.Lock()
	conn, pause := c.conn, c.pause
	switch {
	case c.delay > 0:
		late := slices.Clone(b)
		time.AfterFunc(c.delay, func() { c.put(late) })
		conn = nil
	case pause > 0:
		if now := time.Now(); c.free.Before(now) {
			c.free = now
		}
		for _, one := range slices.Clone(b) {
			c.free = c.free.Add(pause)
			time.AfterFunc(time.Until(c.free), func() { c.put([]byte{one}) })
		}
		conn = nil
	}
	c.mu.Unlock()
	if conn != nil {
		conn.put(b)
	}
}

// put makes bytes come out where the cable is open.
func (c *Cable) put(b []byte) {
	c.mu.Lock()
	conn := c.conn
	c.mu.Unlock()
	if conn != nil {
		conn.put(b)
	}
}

// SendAfter sends bytes when d has passed.
func (c *Cable) SendAfter(d time.Duration, b []byte) { time.AfterFunc(d, func() { c.Send(b) }) }

// Pull pulls the cable out: whoever reads or writes is told at once.
func (c *Cable) Pull() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.out = true
	if c.conn != nil {
		c.conn.close(errPulled)
		c.conn = nil
	}
}

// Plug puts the cable in again; it must then be opened anew.
func (c *Cable) Plug() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.out = false
}

// cableConn is one opening of a cable.
type cableConn struct {
	cable *Cable

	mu     sync.Mutex
	unread []byte
	why    error
	come   chan struct{}
	end    chan struct{}
}

func (c *cableConn) put(b []byte) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.unread = append(c.unread, b...)
	select {
	case c.come <- struct{}{}:
	default:
	}
}

func (c *cableConn) close(why error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.why == nil {
		c.why = why
		close(c.end)
	}
}

func (c *cableConn) Read(b []byte) (int, error) {
	for {
		c.mu.Lock()
		n := copy(b, c.unread)
		c.unread = c.unread[n:]
		why := c.why
		c.mu.Unlock()
		if n > 0 || why != nil {
			return n, why
		}
		select {
		case <-c.come:
		case <-c.end:
		}
	}
}

func (c *cableConn) Write(b []byte) (int, error) {
	c.mu.Lock()
	why := c.why
	c.mu.Unlock()
	if why != nil {
		return 0, why
	}
	if c.cable.Heard != nil {
		c.cable.Heard(b)
	}
	return len(b), nil
}

func (c *cableConn) Close() error {
	c.close(errors.New("closed"))
	return nil
}
