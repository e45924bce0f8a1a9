package link

import (
	"errors"
	"fmt"
	"net"
	"os"
	"syscall"
	"time"
)

// slice is how long a Conn waits for bytes before it looks around.
const slice = 100 * time.Millisecond

// socket is a Conn over raw TCP, as serial device servers speak it.
type socket struct{ net.Conn }

// patience with a socket whose far end has silently gone (its power cut, a
// cable pulled), which says nothing by itself: it is given up when an idle one
// has left its probes unanswered, and when what was sent has not been
// acknowledged for unacknowledged.
type patience struct {
	probes         net.KeepAliveConfig
	unacknowledged time.Duration
}

// usualPatience is ten seconds either way.
var usualPatience = patience{
	probes:         net.KeepAliveConfig{Enable: true, Idle: 4 * time.Second, Interval: 2 * time.Second, Count: 3},
	unacknowledged: 10 * time.Second,
}

// shortestDial is enough for one lost packet: it is sent again after a second.
const shortestDial = 2 * time.Second

func dialTCP(address string, timeout time.Duration, p patience) (Conn, error) {
	d := net.Dialer{
		Timeout:         max(timeout, shortestDial),
		KeepAliveConfig: p.probes,
		Control: func(_, _ string, raw syscall.RawConn) error {
			var refused error
			err := raw.Control(func(fd uintptr) { refused = giveUpAfter(fd, p.unacknowledged) })
			return errors.Join(err, refused)
		},
	}
	conn, err := d.Dial("tcp", address)
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
