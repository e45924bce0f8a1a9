package link

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"
)

// full is how many unread bytes a stream keeps before it leaves further ones
// with the system.
const full = 1 << 16

// stream moves bytes between a Conn and its owner. One goroutine reads, so
// that no byte waits in the system until somebody asks; each write has a
// goroutine of its own, because a write can block for ever and closing does
// not free it.
type stream struct {
	conn Conn

	stamps bool // arrivals are kept

	mu       sync.Mutex
	unread   []byte
	arrivals []arrival // of unread, and of what was taken but not asked about
	gone     error     // why reading ended
	closing  bool

	come  chan struct{} // something changed for the reader
	space chan struct{} // unread was emptied, or closing
	ended chan struct{} // the reading goroutine has returned
}

// arrival is so many bytes that the system handed over at one instant.
type arrival struct {
	at time.Time
	n  int
}

func newStream(conn Conn, stamps bool) *stream {
	s := &stream{
		conn: conn, stamps: stamps,
		come:  make(chan struct{}, 1),
		space: make(chan struct{}, 1),
		ended: make(chan struct{}),
	}
	go s.pump()
	return s
}

// pump reads until the stream is gone or closing.
func (s *stream) pump() {
	defer close(s.ended)
	buffer := make([]byte, 4096)
	for {
		n, err := s.conn.Read(buffer)
		s.keep(buffer[:n], err)
		if n > 0 || err != nil {
			signal(s.come)
		}
		if err != nil || !s.room() {
			return
		}
	}
}

func (s *stream) keep(b []byte, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.unread = append(s.unread, b...)
	if s.stamps && len(b) > 0 {
		s.arrivals = append(s.arrivals, arrival{time.Now(), len(b)})
	}
	s.gone = err
}

// room waits until there is room for more; it is false when the stream closes.
func (s *stream) room() bool {
	for {
		s.mu.Lock()
		waiting, closing := len(s.unread), s.closing
		s.mu.Unlock()
		switch {
		case closing:
			return false
		case waiting < full:
			return true
		}
		<-s.space
	}
}

func signal(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

// read waits for at least one byte.
func (s *stream) read(ctx context.Context, b []byte, deadline time.Time) (int, error) {
	if n, err := s.take(b); n > 0 || err != nil {
		return n, err
	}
	wait := time.Until(deadline)
	switch {
	case ctx.Err() != nil:
		return 0, ctx.Err()
	case wait <= 0: // who asks only what is there needs no timer
		return 0, ErrTimeout
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	for {
		select {
		case <-s.come:
		case <-timer.C:
			// On a busy machine both may be ready: bytes go first.
			if n, err := s.take(b); n > 0 || err != nil {
				return n, err
			}
			return 0, ErrTimeout
		case <-ctx.Done():
			return 0, ctx.Err()
		}
		if n, err := s.take(b); n > 0 || err != nil {
			return n, err
		}
	}
}

// take gives what has come; when nothing has and nothing will, it says why.
func (s *stream) take(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.unread) == 0 {
		return 0, s.gone
	}
	n := copy(b, s.unread)
	s.unread = append(s.unread[:0], s.unread[n:]...)
	signal(s.space)
	return n, nil
}

// arrived says of the next bytes that were taken, at most n, how many came
// together and when. It must be asked about every byte that was taken.
func (s *stream) arrived(n int) (int, time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	first := &s.arrivals[0]
	at := first.at
	if n < first.n {
		first.n -= n
		return n, at
	}
	n = first.n
	s.arrivals = append(s.arrivals[:0], s.arrivals[1:]...)
	return n, at
}

func (s *stream) discard() []byte {
	s.mu.Lock()
	defer s.mu.Unlock()
	thrown := slices.Clone(s.unread)
	s.unread = s.unread[:0]
	signal(s.space)
	return thrown
}

// write sends b from a goroutine and watches it. After ErrTimeout or the
// context's error the goroutine may be stuck; it keeps its own copy of b.
func (s *stream) write(ctx context.Context, b []byte, deadline time.Time) error {
	own := append([]byte(nil), b...)
	done := make(chan error, 1)
	go func() { done <- writeAll(s.conn, own) }()
	timer := time.NewTimer(time.Until(deadline))
	defer timer.Stop()
	select {
	case err := <-done:
		return err
	case <-timer.C:
		return ErrTimeout
	case <-ctx.Done():
		return ctx.Err()
	}
}

func writeAll(conn Conn, b []byte) error {
	for len(b) > 0 {
		n, err := conn.Write(b)
		if err != nil {
			return err
		}
		if n == 0 {
			return fmt.Errorf("write took nothing")
		}
		b = b[n:]
	}
	return nil
}

// close ends the reading goroutine and closes the stream under it.
func (s *stream) close() error {
	s.mu.Lock()
	s.closing = true
	s.mu.Unlock()
	signal(s.space)
	err := s.conn.Close()
	<-s.ended
	return err
}
