//go:build linux || darwin

package simbench

import (
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
)

// ptySocket is a link behind a pseudo-terminal. The program opens path, a
// name that stays; the terminal behind it is a new one after each plug.
type ptySocket struct {
	wire
	path string

	plugging sync.Mutex
	plugged  bool
}

func newPTYSocket(path string) (socket, error) {
	s := &ptySocket{path: path}
	s.init()
	return s, s.plug()
}

func (s *ptySocket) port() string { return s.path }

// await has nothing to wait for: a terminal that is plugged in is there.
func (s *ptySocket) await(time.Duration) {}

func (s *ptySocket) plug() error {
	s.plugging.Lock()
	defer s.plugging.Unlock()
	if s.plugged {
		return nil
	}
	t, err := openTerminal()
	if err != nil {
		return err
	}
	if err := os.Symlink(t.slave.Name(), s.path); err != nil {
		return errors.Join(err, t.Close())
	}
	s.plugged = true
	return s.set(t)
}

func (s *ptySocket) unplug() error {
	s.plugging.Lock()
	defer s.plugging.Unlock()
	if !s.plugged {
		return nil
	}
	s.plugged = false
	return errors.Join(os.Remove(s.path), s.set(nil))
}

func (s *ptySocket) Close() error {
	if !s.shut() {
		return nil
	}
	return s.unplug()
}

// terminal is a pseudo-terminal, raw. The slave is kept open here as well, so
// that the master does not fail before the program has opened it, or between
// two openings.
type terminal struct{ master, slave *os.File }

func openTerminal() (*terminal, error) {
	master, slave, err := pty.Open()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoPTY, err)
	}
	t := &terminal{master, slave}
	if err := makeRaw(int(slave.Fd())); err != nil {
		return nil, errors.Join(err, t.Close())
	}
	if t.master, err = waking(master); err != nil {
		return nil, errors.Join(err, slave.Close())
	}
	return t, nil
}

// waking returns the same file in a form whose Close ends a Read under way,
// which that of package pty does not. It closes the one given.
func waking(f *os.File) (*os.File, error) {
	fd, err := unix.FcntlInt(f.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	if err := errors.Join(f.Close(), unix.SetNonblock(fd, true)); err != nil {
		return nil, errors.Join(err, unix.Close(fd))
	}
	return os.NewFile(uintptr(fd), f.Name()), nil
}

// Read waits for bytes from the program. A program that dies leaves the
// terminal in exclusive mode, and since the slave is open here that would
// shut out the next one; so the mode is taken back while it is in use.
func (t *terminal) Read(b []byte) (int, error) {
	n, err := t.master.Read(b)
	if n > 0 {
		shared(int(t.slave.Fd()))
	}
	return n, err
}

// Write drops what nobody has read, as a serial line would, before it adds to
// it.
func (t *terminal) Write(b []byte) (int, error) {
	const few = 256 // bytes, several lines
	if fd := int(t.slave.Fd()); unread(fd) > few {
		flush(fd)
		shared(fd)
	}
	return t.master.Write(b)
}

func (t *terminal) Close() error { return errors.Join(t.master.Close(), t.slave.Close()) }
