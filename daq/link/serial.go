package link

import (
	"errors"
	"fmt"
	"io/fs"
	"sync"

	"go.bug.st/serial"
)

// serialConn is a Conn over a serial port.
type serialConn struct {
	port serial.Port
	lock *lock

	reading sync.Mutex // a port must not be closed under a Read
	mu      sync.Mutex
	closed  bool
}

var parities = map[string]serial.Parity{
	"": serial.NoParity, "none": serial.NoParity, "even": serial.EvenParity, "odd": serial.OddParity,
}

var stopBits = map[int]serial.StopBits{
	0: serial.OneStopBit, 1: serial.OneStopBit, 2: serial.TwoStopBits,
}

// mode translates the framing. The library takes any baud rate, also a
// negative one, so it is checked here.
func (c Config) mode() (*serial.Mode, error) {
	parity, knownParity := parities[c.Parity]
	stop, knownStop := stopBits[c.StopBits]
	data := c.DataBits
	if data == 0 {
		data = 8
	}
	switch {
	case c.Baud <= 0:
		return nil, fmt.Errorf("baud %d: want a positive number, e.g. 9600", c.Baud)
	case data != 7 && data != 8:
		return nil, fmt.Errorf("data bits %d: want 7 or 8", c.DataBits)
	case !knownParity:
		return nil, fmt.Errorf("parity %q: want none, even or odd", c.Parity)
	case !knownStop:
		return nil, fmt.Errorf("stop bits %d: want 1 or 2", c.StopBits)
	}
	// InitialStatusBits stays nil: pseudo-terminals have no modem lines.
	return &serial.Mode{BaudRate: c.Baud, DataBits: data, Parity: parity, StopBits: stop}, nil
}

func openSerial(c Config) (Conn, error) {
	mode, err := c.mode()
	if err != nil {
		return nil, err
	}
	lock, err := takeLock(c.Port)
	if err != nil {
		return nil, explain(c.Port, err)
	}
	port, err := serial.Open(c.Port, mode)
	if err != nil {
		return nil, errors.Join(explain(c.Port, err), lock.release())
	}
	// Set once, before anybody reads: setting it beside a Read is a data race.
	if err := port.SetReadTimeout(slice); err != nil {
		return nil, errors.Join(explain(c.Port, err), port.Close(), lock.release())
	}
	return &serialConn{port: port, lock: lock}, nil
}

// explain turns what the library and the system say of a port that does not
// open into the package's errors.
func explain(port string, err error) error {
	if errors.Is(err, ErrBusy) {
		return err // said in full already
	}
	if known := sentinel(err); known == ErrBusy {
		return fmt.Errorf("%w by another program, or twice in this one", known)
	} else if known != nil {
		return fmt.Errorf("%w: %w", known, err)
	}
	var pe *serial.PortError
	code := serial.PortErrorCode(-1)
	if errors.As(err, &pe) {
		code = pe.Code()
	}
	switch {
	case code == serial.PortBusy:
		return fmt.Errorf("%w by another program", ErrBusy)
	case code == serial.PermissionDenied, errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%w: %s", ErrPermission, whoMay(port))
	case code == serial.PortNotFound, errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%w: nothing of that name; the adapter may be unplugged", ErrNoSuchPort)
	case code == serial.InvalidSerialPort:
		return fmt.Errorf("%w: it is there, but it is no serial port: %w", ErrNoSuchPort, err)
	}
	return err
}

func (s *serialConn) Read(b []byte) (int, error) {
	s.reading.Lock()
	defer s.reading.Unlock()
	s.mu.Lock()
	closed := s.closed
	s.mu.Unlock()
	if closed {
		return 0, fs.ErrClosed
	}
	return s.port.Read(b) // 0, nil when nothing came in time
}

// Write refuses what is left of a write that was stuck when the port was
// closed: the system may have given its number to another file since.
func (s *serialConn) Write(b []byte) (int, error) {
	s.mu.Lock()
	closed := s.closed
	s.mu.Unlock()
	if closed {
		return 0, fs.ErrClosed
	}
	return s.port.Write(b)
}

// Close waits for a Read under way, which ends within a slice. What could not
// be sent is dropped: a system may otherwise wait half a minute for it.
func (s *serialConn) Close() error {
	s.mu.Lock()
	again := s.closed
	s.closed = true
	s.mu.Unlock()
	if again {
		return nil
	}
	s.reading.Lock()
	defer s.reading.Unlock()
	// An unplugged port cannot be reset; it is closed all the same.
	unsent := s.port.ResetOutputBuffer()
	if err := errors.Join(s.port.Close(), s.lock.release()); err != nil {
		return errors.Join(err, unsent)
	}
	return nil
}
