package daqtest

import (
	"context"
	"io"
	"sync"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// Pacing is what a real line does to bytes. A bare pseudo-terminal has no
// baud and flatters everyone.
type Pacing struct {
	Baud int
	// Bits of a character, start, parity and stop counted; 0 is 11.
	Bits int
	// ReplyDelay passes between the end of a request and the first bit of
	// what the instrument says next.
	ReplyDelay time.Duration
	// Piece is how many bytes are handed to the program at once, as adapters
	// hand on what they have gathered; 0 is 1.
	Piece int
	// Latency is the latency timer of a USB adapter, 0 for none: what the
	// instrument says is handed to the program when the timer, which runs
	// freely, expires, or when a packet is full (P: common practice, no
	// source).
	Latency time.Duration
}

// packet is how many bytes an adapter hands on without waiting for its timer.
const packet = 62

// Character is the time of one character.
func (p Pacing) Character() time.Duration {
	if p.Bits == 0 {
		p.Bits = 11
	}
	return link.CharacterTime(p.Baud, p.Bits)
}

// Pace passes bytes between the program's side and the instrument's side of a
// line at its rate. It returns at once; passing ends when reading or writing
// of a side fails, which closing it brings about.
func Pace(program, instrument io.ReadWriter, p Pacing) {
	requested := make(chan time.Time, 1) // when the last request had arrived
	go pass(instrument, program, p, p.Character(), 1, func(arrived time.Time) {
		select {
		case <-requested:
		default:
		}
		requested <- arrived
	}, nil)
	if p.Latency <= 0 {
		go pass(program, instrument, p, p.Character(), max(1, p.Piece), nil, requested)
		return
	}
	a := &adapter{program: program, end: make(chan struct{})}
	go a.run(p.Latency)
	go func() {
		defer close(a.end)
		pass(a, instrument, p, p.Character(), max(1, p.Piece), nil, requested)
	}()
}

// adapter holds back what comes from the instrument.
type adapter struct {
	program io.Writer
	end     chan struct{}

	mu     sync.Mutex
	held   []byte
	failed error
}

// run hands on what is held each time the timer expires.
func (a *adapter) run(timer time.Duration) {
	tick := time.NewTicker(timer)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			a.mu.Lock()
			a.handOn(len(a.held))
			a.mu.Unlock()
		case <-a.end:
			return
		}
	}
}

func (a *adapter) Write(b []byte) (int, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.held = append(a.held, b...)
	for len(a.held) >= packet && a.failed == nil {
		a.handOn(packet)
	}
	return len(b), a.failed
}

func (a *adapter) handOn(n int) {
	if n == 0 || a.failed != nil {
		return
	}
	_, a.failed = a.program.Write(a.held[:n])
	a.held = a.held[n:]
}

// pass moves bytes from src to dst. after is told when bytes have arrived; on
// the way back a reply waits until ReplyDelay after the request.
func pass(dst io.Writer, src io.Reader, p Pacing, character time.Duration, piece int, after func(time.Time), requested <-chan time.Time) {
	buffer := make([]byte, 1024)
	clock := daq.NewWallClock() // finer than time.Sleep
	var free time.Time          // when the line is free again
	for {
		n, err := src.Read(buffer)
		if err != nil {
			return
		}
		if now := time.Now(); free.Before(now) {
			free = now
		}
		select {
		case arrived := <-requested:
			if begin := arrived.Add(p.ReplyDelay); free.Before(begin) {
				free = begin
			}
		default:
		}
		for b := buffer[:n]; len(b) > 0; {
			k := min(piece, len(b))
			free = free.Add(time.Duration(k) * character)
			_ = clock.Sleep(context.Background(), clock.Now()+time.Until(free)) // never ends early
			if after != nil {                                                   // before the answer can be there
				after(free)
			}
			if _, err := dst.Write(b[:k]); err != nil {
				return
			}
			b = b[k:]
		}
	}
}
