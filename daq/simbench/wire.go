package simbench

import (
	"io"
	"sync"
	"time"
)

// wire is what pseudo-terminals and TCP ports have in common: one connection
// to the program at a time, or none.
type wire struct {
	mu     sync.Mutex
	change sync.Cond
	conn   io.ReadWriteCloser // nil: nobody there
	closed bool
}

func (w *wire) init() { w.change.L = &w.mu }

// set puts a connection, or none, in the place of the one that was.
func (w *wire) set(conn io.ReadWriteCloser) error {
	w.mu.Lock()
	old := w.conn
	w.conn = conn
	w.change.Broadcast()
	w.mu.Unlock()
	if old == nil {
		return nil
	}
	return old.Close()
}

// drop takes a connection away that has failed, unless another has come.
func (w *wire) drop(conn io.ReadWriteCloser) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.conn == conn {
		w.conn = nil
		conn.Close() // it has failed already
	}
}

// Read waits for a connection and for bytes from it.
func (w *wire) Read(b []byte) (int, error) {
	for {
		conn := w.wait()
		if conn == nil {
			return 0, io.EOF
		}
		if n, err := conn.Read(b); n > 0 {
			return n, nil
		} else if err != nil {
			w.drop(conn)
		}
	}
}

// there says whether there is a connection.
func (w *wire) there() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.conn != nil
}

// wait returns the connection once there is one, nil once all is over.
func (w *wire) wait() io.ReadWriteCloser {
	w.mu.Lock()
	defer w.mu.Unlock()
	for w.conn == nil && !w.closed {
		w.change.Wait()
	}
	if w.closed {
		return nil
	}
	return w.conn
}

// arrival waits for a connection, at most so long on the wall clock.
func (w *wire) arrival(atMost time.Duration) {
	end := time.Now().Add(atMost)
	defer time.AfterFunc(atMost, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		w.change.Broadcast()
	}).Stop()
	w.mu.Lock()
	defer w.mu.Unlock()
	for w.conn == nil && !w.closed && time.Now().Before(end) {
		w.change.Wait()
	}
}

func (w *wire) send(b []byte) bool {
	w.mu.Lock()
	conn := w.conn
	w.mu.Unlock()
	if conn == nil {
		return false
	}
	if _, err := conn.Write(b); err != nil {
		w.drop(conn)
		return false
	}
	return true
}

// shut ends all reading; it returns false when that was done before.
func (w *wire) shut() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	first := !w.closed
	w.closed = true
	w.change.Broadcast()
	return first
}
