package modbus

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// TCPClient is the client of one Modbus TCP connection, behind which there may
// be several units.
type TCPClient struct {
	tally
	turn  turn
	port  *link.Port
	clock daq.Clock

	transaction uint16 // of the last request
	answeredOne bool   // it was answered
	// givenUp are the transactions that may still be answered, the newest
	// last.
	givenUp []uint16
	// buffer is the beginning of a message that has not wholly come.
	buffer []byte
}

var _ Master = (*TCPClient)(nil)

// NewTCPClient returns the client of a connection. Each exchange has the
// port's deadline, on the wall clock.
func NewTCPClient(port *link.Port, clock daq.Clock) *TCPClient {
	return &TCPClient{turn: newTurn(), port: port, clock: clock, answeredOne: true}
}

// Read does one exchange; see Master. Only the values come back.
func (c *TCPClient) Read(ctx context.Context, r Request) ([]uint16, error) {
	a, err := c.Do(ctx, r)
	return a.Values, err
}

// Do does one exchange; see Master. The address is the unit identifier.
// Answers to earlier requests are known by their transaction and dropped. When
// what comes is no Modbus TCP nobody knows where the next message begins: the
// connection is opened anew, and the error is ErrNotMBAP with link.ErrTimeout,
// or with link.ErrGone where that did not succeed.
func (c *TCPClient) Do(ctx context.Context, r Request) (Answer, error) {
	if err := r.Check(); err != nil {
		return Answer{}, err
	}
	if err := c.turn.take(ctx); err != nil {
		return Answer{}, err
	}
	defer c.turn.leave()
	defer c.port.Done()
	a, err := c.exchange(ctx, r)
	c.port.Judge(verdict(err))
	if errors.Is(err, link.ErrGone) {
		c.buffer, c.givenUp = nil, nil // the next connection begins anew
	}
	return a, r.unknown(err)
}

// exchange sends r and waits for its answer.
func (c *TCPClient) exchange(ctx context.Context, r Request) (Answer, error) {
	if !c.answeredOne {
		c.givenUp = append(c.givenUp, c.transaction)
		c.givenUp = c.givenUp[max(0, len(c.givenUp)-maxGivenUp):]
	}
	c.transaction++
	c.answeredOne = false
	deadline := time.Now().Add(c.port.Timeout())
	c.count(func(n *Counts) { n.Requests++ })
	if err := c.port.Write(ctx, r.Message(c.transaction), deadline); err != nil {
		return Answer{}, err
	}
	var piece [512]byte
	foreign := 0
	for heard := 0; ; {
		n, err := c.port.Read(ctx, piece[:], deadline)
		c.buffer = append(c.buffer, piece[:n]...)
		heard += n
		f, broken := c.search(r)
		foreign += f.foreign
		switch {
		case f.answered:
			c.answeredOne = true
			c.count(func(n *Counts) {
				n.Answers++
				if f.exception != nil {
					n.Exceptions++
				}
			})
			return Answer{Values: f.values, Began: c.clock.Now()}, f.exception
		case broken != nil:
			c.count(func(n *Counts) { n.Garbled++ })
			return Answer{}, fmt.Errorf("%w: %w", broken, c.anew())
		case errors.Is(err, link.ErrTimeout):
			return Answer{}, c.unanswered(heard, foreign, err)
		case err != nil:
			return Answer{}, err
		case heard > maxHeard:
			return Answer{}, c.unanswered(heard, foreign, fmt.Errorf("%w: too much comes", link.ErrTimeout))
		}
	}
}

// anew opens the connection anew and says how that went.
func (c *TCPClient) anew() error {
	c.buffer, c.givenUp = nil, nil
	if err := c.port.Reopen(); err != nil {
		return fmt.Errorf("%w: %w", link.ErrGone, err)
	}
	return link.ErrTimeout
}

// maxGivenUp bounds how many unanswered transactions are remembered.
const maxGivenUp = 64

// taken is what search has found in the buffer.
type taken struct {
	values    []uint16
	exception error
	answered  bool
	foreign   int
}

// search takes whole messages out of the buffer until one answers r.
func (c *TCPClient) search(r Request) (f taken, broken error) {
	for {
		m, rest, err := NextMessage(c.buffer)
		if errors.Is(err, ErrShort) {
			return f, nil
		}
		if err != nil {
			c.port.Judge(ErrNotMBAP.Error())
			return f, err
		}
		f.values, f.exception = nil, ErrOther
		if m.Transaction == c.transaction && !f.answered {
			f.values, f.exception = r.ParseMessage(m)
		}
		x := Exception(0)
		f.answered = f.exception == nil || errors.As(f.exception, &x)
		c.buffer = slices.Clone(rest)
		if f.answered {
			return f, nil
		}
		f.exception = nil
		f.foreign += c.dropped(m)
	}
}

// dropped counts a message that is no answer to the request; it is 1 when it
// was foreign.
func (c *TCPClient) dropped(m Message) (foreign int) {
	if i := slices.Index(c.givenUp, m.Transaction); i >= 0 {
		c.givenUp = slices.Delete(c.givenUp, i, i+1)
		c.count(func(n *Counts) { n.Late++ })
		c.port.Judge("late answer")
		return 0
	}
	if m.Transaction == c.transaction-1 {
		c.count(func(n *Counts) { n.Doubled++ })
		c.port.Judge("doubled answer")
		return 0
	}
	c.count(func(n *Counts) { n.Foreign++ })
	c.port.Judge(fmt.Sprintf("other question: transaction %d, unit %d", m.Transaction, m.Unit))
	return 1
}

// unanswered says in which way there was no answer.
func (c *TCPClient) unanswered(heard, foreign int, err error) error {
	switch {
	case foreign > 0:
		return fmt.Errorf("%w: %w", ErrForeign, err)
	case len(c.buffer) > 0:
		c.count(func(n *Counts) { n.Garbled++; n.Short++ })
		return fmt.Errorf("%w: %w", ErrGarbled, err)
	}
	c.count(func(n *Counts) { n.Silent++ })
	return fmt.Errorf("%w: %w", ErrNoAnswer, err)
}
