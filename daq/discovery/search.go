package discovery

import (
	"context"
	"errors"
	"slices"
	"time"

	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// Asker does one exchange; modbus.Client and modbus.TCPClient do.
type Asker interface {
	Read(ctx context.Context, r modbus.Request) ([]uint16, error)
}

// Search looks for Modbus instruments on one line by asking for a register,
// with the functions 3 and 4 and nothing else. Any answer with a sound check
// sum proves an instrument, an exception too: [2] section 7 has a slave answer
// so to what it does not know.
type Search struct {
	// Open opens the line with a framing; close closes it.
	Open func(f Framing) (line Asker, close func() error, err error)
	// Framings and Addresses are tried in their order, every address with one
	// framing before the next framing.
	Framings  []Framing
	Addresses []byte
	// Pace is the least time between two questions.
	Pace time.Duration
	// Tell is called before each question, with what was found so far; may be
	// nil.
	Tell func(f Framing, address byte, found []Found)
}

// Found is an instrument that answered.
type Found struct {
	Framing Framing
	Address byte
	// Refused is the exception by which it answered, nil when it gave a
	// register.
	Refused error
}

// Outcome is what a search came to.
type Outcome struct {
	// Found are the instruments, all with one framing.
	Found []Found
	// Garbled are the questions to which bytes came, but no sound answer: an
	// instrument may be there, at another baud or parity.
	Garbled []Found
	// Asked is how many questions were sent.
	Asked int
}

// Run searches. The first framing with which an instrument answers is kept for
// the addresses that are left; the others on a line speak with it too. When
// ctx ends, what was found so far comes back without an error. Other errors
// are those of the line: a port that cannot be opened, or is gone.
func (s Search) Run(ctx context.Context) (Outcome, error) {
	var out Outcome
	for _, f := range s.Framings {
		if err := s.with(ctx, f, &out); err != nil || ctx.Err() != nil {
			if ctx.Err() != nil {
				return out, nil
			}
			return out, err
		}
		if len(out.Found) > 0 {
			break
		}
	}
	return out, nil
}

// with searches all addresses with one framing.
func (s Search) with(ctx context.Context, f Framing, out *Outcome) (err error) {
	line, closeLine, err := s.Open(f)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, closeLine()) }()
	for _, address := range s.Addresses {
		for _, function := range []byte{modbus.ReadHolding, modbus.ReadInput} {
			if s.Tell != nil {
				s.Tell(f, address, slices.Clone(out.Found))
			}
			began := time.Now()
			out.Asked++
			_, err := line.Read(ctx, modbus.Request{Address: address, Function: function, Count: 1})
			done := out.judge(Found{Framing: f, Address: address}, err)
			if !rest(ctx, began, s.Pace) {
				return ctx.Err()
			}
			if errors.Is(err, link.ErrGone) {
				return err
			}
			if done || function == modbus.ReadHolding && errors.Is(err, modbus.ErrNoAnswer) {
				break // who has no such function says so; silence is nobody
			}
		}
	}
	return nil
}

// judge notes what an answer, or none, says; true when nothing more needs to
// be asked of the address.
func (o *Outcome) judge(f Found, err error) bool {
	var refused modbus.Exception
	switch {
	case err == nil:
		o.Found = append(o.Found, f)
		return true
	case errors.As(err, &refused):
		if refused == modbus.GatewayUnavailable || refused == modbus.GatewayNoResponse {
			return true // the gateway says that nobody is there
		}
		f.Refused = refused
		o.Found = append(o.Found, f)
		return true
	case errors.Is(err, modbus.ErrGarbled), errors.Is(err, modbus.ErrForeign):
		if n := len(o.Garbled); n == 0 || o.Garbled[n-1].Address != f.Address || o.Garbled[n-1].Framing != f.Framing {
			o.Garbled = append(o.Garbled, f)
		}
	}
	return false
}

// silence is longer than the silent interval that may pass between the call
// that asks and the question's first character.
const silence = 20 * time.Millisecond

// rest waits until so much time has passed between two questions; false when
// ctx ended.
func rest(ctx context.Context, began time.Time, pace time.Duration) bool {
	if time.Since(began) < pace+silence {
		return pause(ctx, time.Until(began.Add(pace+silence)))
	}
	return ctx.Err() == nil
}

// pause waits; false when ctx ended.
func pause(ctx context.Context, d time.Duration) bool {
	if d <= 0 {
		return ctx.Err() == nil
	}
	select {
	case <-time.After(d):
		return true
	case <-ctx.Done():
		return false
	}
}
