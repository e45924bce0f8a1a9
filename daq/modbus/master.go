package modbus

import (
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

// ErrUnknown comes beside the error of a request that writes and was not
// answered: it is not repeated by itself.
var ErrUnknown = errors.New("it is not known whether the write took effect")

// Master asks slaves, over one line or one connection. Any goroutine may ask;
// one exchange waits for the other.
type Master interface {
	// Do does one exchange. The errors are ErrLimit before anything is sent;
	// an Exception; ErrNoAnswer, ErrGarbled or ErrForeign (each with
	// link.ErrTimeout); link.ErrTimeout alone when the request could not be
	// sent; link.ErrGone, and the context's. Of a request that writes every
	// error but ErrLimit and an Exception comes with ErrUnknown, once
	// something may have been sent.
	Do(ctx context.Context, r Request) (Answer, error)
	// Counts says how the exchanges went so far.
	Counts() Counts
}

// Answer is what a slave said.
type Answer struct {
	// Values are the registers, or coils and inputs as 0 and 1; nil for a
	// request that writes.
	Values []uint16
	// Began is when, on the clock, the first character of the answer was on
	// the line, as far as the line's rate tells.
	Began time.Duration
}

// Counts says how the exchanges on a line went.
type Counts struct {
	Requests, Answers int
	Exceptions        int // answers that were exceptions
	Silent            int // exchanges without a single byte
	Garbled           int // exchanges with bytes, but no sound frame
	Short             int // of these: an answer that began and did not end
	Foreign           int // sound frames that answered something else
	Late              int // answers that came after their exchange was given up
	Doubled           int // answers that came once more
	Stray             int // bytes that belonged to no sound frame
}

// String names what was counted; what never happened is left out.
func (n Counts) String() string {
	return daq.Counted(fmt.Sprintf("%d requests, %d answered", n.Requests, n.Answers),
		daq.Count{N: n.Exceptions, What: "exceptions"}, daq.Count{N: n.Silent, What: "silent"},
		daq.Count{N: n.Garbled, What: "garbled"}, daq.Count{N: n.Short, What: "of these short"},
		daq.Count{N: n.Foreign, What: "foreign"}, daq.Count{N: n.Late, What: "late"},
		daq.Count{N: n.Doubled, What: "doubled"}, daq.Count{N: n.Stray, What: "stray bytes"})
}

// tally is counts that any goroutine may ask for.
type tally struct {
	mu     sync.Mutex
	counts Counts
}

// Counts says how the exchanges went so far. Any goroutine may ask.
func (t *tally) Counts() Counts {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.counts
}

func (t *tally) count(change func(*Counts)) {
	t.mu.Lock()
	defer t.mu.Unlock()
	change(&t.counts)
}

// turn lets one exchange at a time onto a line.
type turn chan struct{}

func newTurn() turn { return make(turn, 1) }

func (t turn) take(ctx context.Context) error {
	select {
	case t <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (t turn) leave() { <-t }

// unknown adds ErrUnknown to the error of a request that writes, once it may
// have been sent.
func (r Request) unknown(err error) error {
	if x := Exception(0); err == nil || !r.Writes() || errors.As(err, &x) {
		return err
	}
	return fmt.Errorf("%w: %w", ErrUnknown, err)
}

// verdict is the word of a byte trace for how an exchange ended.
func verdict(err error) string {
	var x Exception
	switch {
	case err == nil:
		return "answer"
	case errors.As(err, &x):
		return x.Error()
	case errors.Is(err, ErrForeign):
		return "not answered, others spoke"
	case errors.Is(err, ErrGarbled):
		return "no sound frame"
	case errors.Is(err, link.ErrTimeout):
		return "no answer"
	case errors.Is(err, link.ErrGone):
		return "port gone"
	}
	return "given up"
}
