package modbus

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// Client is the master of one serial line.
type Client struct {
	tally
	turn   turn
	port   *link.Port
	clock  daq.Clock
	silent time.Duration

	// lull is how long, on the wall clock, the line stays silent after a
	// mangled answer until it is taken that no more of it comes. Adapters and
	// device servers hold bytes back for some milliseconds.
	lull time.Duration
	// quiet is when, on the clock, the last byte came or went.
	quiet time.Duration
	// asked is the request that was sent last.
	asked Request
	// last is the request that was answered last; wary is how long, on the
	// wall clock, is listened for more of its answers before the next.
	last Request
	wary time.Duration
	// echo: the last answer that can tell came behind the request itself.
	echo bool
	// owed is the request that was given up and may still be answered, until
	// owedUntil on the wall clock.
	owed      *Request
	owedUntil time.Time
	open      outstanding

	buffer []byte
}

var _ Master = (*Client)(nil)

// NewClient returns the master of a line. The silent interval follows from
// the port's framing and is kept on the clock; the deadline of an exchange is
// the port's, on the wall clock.
func NewClient(port *link.Port, clock daq.Clock) *Client {
	silent := port.Config().SilentInterval()
	lull := 50*time.Millisecond + 20*port.Config().CharacterTime()
	return &Client{turn: newTurn(), open: outstanding{}, port: port, clock: clock, silent: silent, lull: lull, quiet: clock.Now() - silent}
}

// Read does one exchange; see Master. Only the values come back.
func (c *Client) Read(ctx context.Context, r Request) ([]uint16, error) {
	a, err := c.Do(ctx, r)
	return a.Values, err
}

// Do does one exchange; see Master. An address is 1 to 247, never that of a
// broadcast.
//
// Do never takes an answer that is late for the answer to r: after an exchange
// without one it listens, for as long again as an exchange may take, before it
// asks the same slave anew, and then asks for another number of values first
// (see part). A request begins when the line has been silent for
// the silent interval, whoever spoke.
func (c *Client) Do(ctx context.Context, r Request) (Answer, error) {
	if err := r.Check(); err != nil {
		return Answer{}, err
	}
	if r.Address < 1 || r.Address > 247 {
		return Answer{}, fmt.Errorf("%w: address %d, where 1 to 247 may be", ErrLimit, r.Address)
	}
	if err := c.turn.take(ctx); err != nil {
		return Answer{}, err
	}
	defer c.turn.leave()
	defer c.port.Done()
	if err := c.settle(ctx, r.Address); err != nil {
		return Answer{}, err
	}
	if err := c.hush(ctx); err != nil {
		return Answer{}, err
	}
	if err := c.part(ctx, r); err != nil {
		return Answer{}, err
	}
	a, err := c.exchange(ctx, r)
	if err = c.doubt(r, err); err != nil {
		a = Answer{}
	}
	c.port.Judge(verdict(err))
	return a, r.unknown(err)
}

// exchange sends r and waits for its answer.
func (c *Client) exchange(ctx context.Context, r Request) (Answer, error) {
	deadline := time.Now().Add(c.port.Timeout())
	asked := c.clock.Now()
	c.count(func(n *Counts) { n.Requests++ })
	c.asked, c.last = r, Request{}
	if err := c.port.Write(ctx, r.Frame(), deadline); err != nil {
		return Answer{}, err
	}
	c.open.asked(r)
	h, err := c.listen(ctx, r, deadline)
	c.quiet = c.clock.Now()
	c.beside(h)
	if h.answered {
		c.open.answered(r, h.exception != nil)
		return c.answered(r, h, asked)
	}
	if !errors.Is(err, link.ErrTimeout) {
		if ctx.Err() != nil {
			c.owed, c.owedUntil = &r, deadline.Add(c.port.Timeout())
		}
		return Answer{}, err
	}
	if !h.mangled() {
		c.owed, c.owedUntil = &r, deadline.Add(c.port.Timeout())
	}
	return Answer{}, c.unanswered(h, err)
}

// settle waits for the answer that is owed, so that the next request does not
// take it for its own. The answer of another slave cannot be mistaken: it is
// waited for only while its exchange, given up before its time, may still be
// going on, so that nobody speaks into it.
func (c *Client) settle(ctx context.Context, address byte) error {
	if c.owed == nil {
		return nil
	}
	owed, until := *c.owed, c.owedUntil
	if owed.Address != address {
		if until = until.Add(-c.port.Timeout()); !time.Now().Before(until) {
			return nil
		}
	}
	h, err := c.listen(ctx, owed, until)
	if err != nil && !errors.Is(err, link.ErrTimeout) {
		return err
	}
	if h.answered || owed.Address == address {
		c.owed = nil
	}
	c.quiet = c.clock.Now()
	c.beside(h)
	if h.answered {
		c.last = owed
		c.open.answered(owed, h.exception != nil)
		c.late()
	}
	return nil
}

func (c *Client) late() {
	c.count(func(n *Counts) { n.Late++ })
	c.port.Judge("late answer")
}

// hush waits until the line has been silent for the silent interval. Bytes
// that nobody asked for begin it anew; on a line that never falls silent it
// gives up waiting.
func (c *Client) hush(ctx context.Context) error {
	var piece [512]byte
	for patience := time.Now().Add(c.lull); ; {
		if err := c.clock.Sleep(ctx, c.quiet+c.silent); err != nil {
			return err
		}
		n, err := c.port.Read(ctx, piece[:], time.Now().Add(c.wary))
		if n == 0 {
			c.wary = 0
			if errors.Is(err, link.ErrTimeout) {
				return nil
			}
			return err
		}
		c.unasked(piece[:n])
		c.quiet = c.clock.Now()
		if time.Now().After(patience) {
			return nil
		}
	}
}

// unasked counts what came between two exchanges.
func (c *Client) unasked(b []byte) {
	f := search(c.last, b)
	if !f.answered {
		c.beside(heard{found: f})
		return
	}
	c.beside(heard{found: f})
	c.doubled()
	c.unasked(f.rest)
}

// doubled notes an answer that came once more. One more may follow, and would
// be taken for the answer to the next request.
func (c *Client) doubled() {
	c.wary = c.lull
	c.count(func(n *Counts) { n.Doubled++ })
	c.port.Judge("doubled answer")
}

// heard is what came of an exchange.
type heard struct {
	found
	bytes  int  // an echo of the request not counted
	echoed bool // the request itself was heard
}

// listen collects bytes until they hold an answer to r, until it is plain that
// they never will, or until the deadline; both of these are link.ErrTimeout.
func (c *Client) listen(ctx context.Context, r Request, deadline time.Time) (h heard, err error) {
	c.buffer = c.buffer[:0]
	frame := r.Frame()
	var piece [512]byte
	for until := deadline; ; {
		n, err := c.port.Read(ctx, piece[:], until)
		c.buffer = append(c.buffer, piece[:n]...)
		var rest []byte
		rest, h.echoed = c.withoutEcho(r, frame)
		h.bytes = len(rest)
		if n > 0 {
			h.found = search(r, rest)
		}
		if h.answered || err != nil {
			return h, err
		}
		if len(rest) > maxHeard {
			return h, fmt.Errorf("%w: the line never falls silent", link.ErrTimeout)
		}
		until = deadline
		if lull := time.Now().Add(c.lull); h.mangled() && lull.Before(deadline) {
			until = lull
		}
	}
}

// withoutEcho takes off the request where an adapter hears itself. The answer
// to functions 5 and 6 is the request once more: there only what was heard at
// other functions can tell.
func (c *Client) withoutEcho(r Request, frame []byte) (rest []byte, echoed bool) {
	b := c.buffer
	switch {
	case r.repeats() && !c.echo:
		return b, false
	case c.echo && len(b) < len(frame) && bytes.HasPrefix(frame, b):
		return nil, false
	}
	return bytes.CutPrefix(b, frame)
}

// repeats says whether the answer is the request once more.
func (r Request) repeats() bool { return r.Function == WriteCoil || r.Function == WriteRegister }

// mangled says that an answer has come, but not a sound one.
func (f found) mangled() bool { return f.stray >= shortest && !f.begun }

// maxHeard bounds what is kept of one exchange: many times the longest frame.
const maxHeard = 16 << 10

// beside counts what came beside the answer.
func (c *Client) beside(h heard) {
	if h.echoed {
		c.port.Judge("echo")
	}
	for _, frame := range h.foreign {
		if c.owed != nil {
			if _, err := c.owed.Parse(frame); !errors.Is(err, ErrOther) {
				c.open.answered(*c.owed, err != nil)
				c.owed = nil
				c.late()
				continue
			}
		}
		c.count(func(n *Counts) { n.Foreign++ })
		c.port.Judge(other(frame, c.asked))
	}
	if h.stray > 0 {
		c.count(func(n *Counts) { n.Stray += h.stray })
		c.port.Judge(h.noise())
	}
}

// other is the verdict on a sound frame that answers something else.
func other(frame []byte, asked Request) string {
	what := "other slave"
	if frame[0] == asked.Address {
		what = "other question"
	}
	return fmt.Sprintf("%s: address %d, function %d", what, frame[0], frame[1]&^exceptionBit)
}

// noise is the verdict on bytes of no sound frame.
func (h heard) noise() string {
	switch {
	case h.stray == 1:
		return "noise: 1 byte"
	case h.stray < shortest:
		return fmt.Sprintf("noise: %d bytes", h.stray)
	case h.begun:
		return fmt.Sprintf("cut short: %d bytes", h.stray)
	}
	return fmt.Sprintf("check sum wrong: %d bytes", h.stray)
}

func (c *Client) answered(r Request, h heard, asked time.Duration) (Answer, error) {
	c.count(func(n *Counts) {
		n.Answers++
		if h.exception != nil {
			n.Exceptions++
		}
	})
	if !r.repeats() {
		c.echo = h.echoed
	}
	c.last = r
	if len(h.rest) > 0 {
		c.unasked(h.rest)
	}
	length := r.ReplyLength()
	if h.exception != nil {
		length = shortest
	}
	onTheWire := time.Duration(length) * c.port.Config().CharacterTime()
	return Answer{Values: h.values, Began: max(asked, c.quiet-onTheWire)}, h.exception
}

// unanswered says in which way there was no answer.
func (c *Client) unanswered(h heard, err error) error {
	switch {
	case h.bytes == 0:
		c.count(func(n *Counts) { n.Silent++ })
		return fmt.Errorf("%w: %w", ErrNoAnswer, err)
	case len(h.foreign) > 0:
		return fmt.Errorf("%w: %w", ErrForeign, err)
	}
	c.count(func(n *Counts) {
		n.Garbled++
		if h.begun {
			n.Short++
		}
	})
	return fmt.Errorf("%w: %w", ErrGarbled, err)
}
