package simbench

import (
	"net"
	"sync"
	"time"
)

// tcpSocket is a link behind a TCP port, as a serial device server has it:
// one program at a time, the newest one counts.
type tcpSocket struct {
	wire
	address string

	listening sync.Mutex
	listener  net.Listener // nil while unplugged
}

func newTCPSocket() (socket, error) {
	s := &tcpSocket{address: "127.0.0.1:0"}
	s.init()
	return s, s.plug()
}

func (s *tcpSocket) port() string { return "tcp://" + s.address }

func (s *tcpSocket) plug() error {
	s.listening.Lock()
	defer s.listening.Unlock()
	if s.listener != nil {
		return nil
	}
	l, err := net.Listen("tcp", s.address)
	if err != nil {
		return err
	}
	s.listener, s.address = l, l.Addr().String()
	go s.accept(l) // ends with the listener
	return nil
}

func (s *tcpSocket) accept(l net.Listener) {
	for {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		s.listening.Lock()
		if s.listener == l {
			_ = s.set(patient{conn}) // the one before has had its time
		} else {
			conn.Close() // came while the cable was pulled
		}
		s.listening.Unlock()
	}
}

// await waits for a program that is on its way; with the cable pulled none is.
func (s *tcpSocket) await(atMost time.Duration) {
	s.listening.Lock()
	plugged := s.listener != nil
	s.listening.Unlock()
	if plugged && !s.there() {
		s.arrival(atMost)
	}
}

func (s *tcpSocket) unplug() error {
	s.listening.Lock()
	defer s.listening.Unlock()
	if s.listener == nil {
		return nil
	}
	err := s.listener.Close()
	s.listener = nil
	_ = s.set(nil)
	return err
}

func (s *tcpSocket) Close() error {
	if !s.shut() {
		return nil
	}
	return s.unplug()
}

// patient is a connection whose other side may be slow to read, but not for
// ever.
type patient struct{ net.Conn }

func (p patient) Write(b []byte) (int, error) {
	if err := p.SetWriteDeadline(time.Now().Add(writeOff)); err != nil {
		return 0, err
	}
	return p.Conn.Write(b)
}
