package modbus

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// Why an exchange had no answer. They come wrapped with link.ErrTimeout.
var (
	// ErrNoAnswer: not a single byte came.
	ErrNoAnswer = errors.New("no answer at all")
	// ErrGarbled: bytes came, but no sound frame.
	ErrGarbled = errors.New("bytes came, but no sound frame")
	// ErrForeign: sound frames came, but from another address or about
	// something else.
	ErrForeign = errors.New("an answer came, but from another address or to another question")
)

// Counts says how the exchanges on a line went.
type Counts struct {
	Requests, Answers int
	Exceptions        int // answers that were exceptions
	Silent            int // exchanges without a single byte
	Garbled           int // exchanges with bytes, but no sound frame
	Foreign           int // sound frames that answered something else
	Late              int // answers that came after their exchange was given up
	Stray             int // bytes that belonged to no sound frame
}

// Client is the master of one line. It is used by one goroutine.
type Client struct {
	port   *link.Port
	clock  daq.Clock
	silent time.Duration

	// lull is how long, on the wall clock, the line stays silent after a
	// mangled answer until it is taken that no more of it comes. Adapters and
	// device servers hold bytes back for some milliseconds.
	lull time.Duration
	// asked is when, on the clock, the last request went out, answered when the
	// first character of its answer did, as far as the line's rate tells.
	asked, answeredAt time.Duration
	// quiet is when, on the clock, the last byte came or went.
	quiet time.Duration
	// owed is the request that was given up and may still be answered, until
	// owedUntil on the wall clock.
	owed      *Request
	owedUntil time.Time

	buffer []byte

	mu     sync.Mutex
	counts Counts
}

// NewClient returns the master of a line. The silent interval follows from
// the port's framing and is kept on the clock; the deadline of an exchange is
// the port's, on the wall clock.
func NewClient(port *link.Port, clock daq.Clock) *Client {
	silent := port.Config().SilentInterval()
	lull := 50*time.Millisecond + 20*port.Config().CharacterTime()
	return &Client{port: port, clock: clock, silent: silent, lull: lull, quiet: clock.Now() - silent}
}

// Counts says how the exchanges went so far. Any goroutine may ask.
func (c *Client) Counts() Counts {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.counts
}

func (c *Client) count(change func(*Counts)) {
	c.mu.Lock()
	defer c.mu.Unlock()
	change(&c.counts)
}

// Read does one exchange. The errors are an Exception, ErrNoAnswer,
// ErrGarbled or ErrForeign (each with link.ErrTimeout), link.ErrTimeout alone
// when the request could not be sent, link.ErrGone, and the context's.
//
// Read never takes an answer that is late for the answer to r: after an
// exchange without one it listens, for as long again as an exchange may take,
// before it asks the same slave anew.
func (c *Client) Read(ctx context.Context, r Request) ([]uint16, error) {
	defer c.port.Done()
	if err := c.settle(ctx, r.Address); err != nil {
		return nil, err
	}
	if err := c.clock.Sleep(ctx, c.quiet+c.silent); err != nil {
		return nil, err
	}
	if n := c.port.Discard(); n > 0 {
		c.count(func(n0 *Counts) { n0.Stray += n })
	}
	deadline := time.Now().Add(c.port.Timeout())
	c.asked = c.clock.Now()
	c.count(func(n *Counts) { n.Requests++ })
	if err := c.port.Write(ctx, r.Frame(), deadline); err != nil {
		return nil, err
	}
	f, heard, err := c.listen(ctx, r, deadline)
	c.quiet = c.clock.Now()
	c.count(func(n *Counts) { n.Foreign += f.foreign; n.Stray += f.stray })
	switch {
	case f.answered:
		onTheWire := time.Duration(r.ReplyLength()) * c.port.Config().CharacterTime()
		c.answeredAt = max(c.asked, c.quiet-onTheWire)
		return f.registers, c.answered(f)
	case !errors.Is(err, link.ErrTimeout):
		return nil, err
	}
	if !f.mangled() {
		c.owed, c.owedUntil = &r, deadline.Add(c.port.Timeout())
	}
	return nil, c.unanswered(f, heard, err)
}

// settle waits for the answer that is owed, so that the next request does not
// take it for its own. The answer of another slave cannot be mistaken.
func (c *Client) settle(ctx context.Context, address byte) error {
	if c.owed == nil || c.owed.Address != address {
		return nil
	}
	f, _, err := c.listen(ctx, *c.owed, c.owedUntil)
	if err != nil && !errors.Is(err, link.ErrTimeout) {
		return err
	}
	c.owed = nil
	c.quiet = c.clock.Now()
	c.count(func(n *Counts) {
		n.Foreign += f.foreign
		n.Stray += f.stray
		if f.answered {
			n.Late++
		}
	})
	return nil
}

// listen collects bytes until they hold an answer to r, until it is plain that
// they never will, or until the deadline; both of these are link.ErrTimeout.
// heard is the number of bytes, an echo of the request not counted.
func (c *Client) listen(ctx context.Context, r Request, deadline time.Time) (f found, heard int, err error) {
	c.buffer = c.buffer[:0]
	frame := r.Frame()
	var piece [512]byte
	for until := deadline; ; {
		n, err := c.port.Read(ctx, piece[:], until)
		c.buffer = append(c.buffer, piece[:n]...)
		rest := withoutEcho(c.buffer, frame)
		if n > 0 {
			f = search(r, rest)
		}
		if f.answered || err != nil {
			return f, len(rest), err
		}
		if len(rest) > maxHeard {
			return f, len(rest), fmt.Errorf("%w: the line never falls silent", link.ErrTimeout)
		}
		until = deadline
		if lull := time.Now().Add(c.lull); f.mangled() && lull.Before(deadline) {
			until = lull
		}
	}
}

// withoutEcho takes off the request where an adapter hears itself.
func withoutEcho(b, request []byte) []byte {
	if len(b) < len(request) && bytes.HasPrefix(request, b) {
		return nil
	}
	return bytes.TrimPrefix(b, request)
}

// mangled says that an answer has come, but not a sound one.
func (f found) mangled() bool { return f.stray >= shortest && !f.begun }

// shortest is the length of the shortest reply, an exception.
const shortest = 5

// maxHeard bounds what is kept of one exchange: many times the longest frame.
const maxHeard = 16 << 10

func (c *Client) answered(f found) error {
	c.count(func(n *Counts) {
		n.Answers++
		if f.exception != nil {
			n.Exceptions++
		}
	})
	return f.exception
}

// unanswered says in which way there was no answer.
func (c *Client) unanswered(f found, heard int, err error) error {
	switch {
	case heard == 0:
		c.count(func(n *Counts) { n.Silent++ })
		return fmt.Errorf("%w: %w", ErrNoAnswer, err)
	case f.foreign > 0:
		return fmt.Errorf("%w: %w", ErrForeign, err)
	}
	c.count(func(n *Counts) { n.Garbled++ })
	return fmt.Errorf("%w: %w", ErrGarbled, err)
}
