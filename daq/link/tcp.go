package link

import (
	"errors"
	"fmt"
	"net"
	"os"
	"time"
)

// slice is how long a Conn waits for bytes before it looks around.
const slice = 100 * time.Millisecond

// socket is a Conn over raw TCP, as serial device servers speak it.
type socket struct{ net.Conn }

func dialTCP(address string, timeout time.Duration) (Conn, error) {
	conn, err := net.DialTimeout("tcp", address, timeout)
	if err != nil {
		return nil, fmt.Errorf("%w: nothing answers at %s: %w", ErrNoSuchPort, address, err)
	}
	return socket{conn}, nil
}

func (s socket) Read(b []byte) (int, error) {
	if err := s.SetReadDeadline(time.Now().Add(slice)); err != nil {
		return 0, err
	}
	n, err := s.Conn.Read(b)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return n, nil
	}
	return n, err
}
