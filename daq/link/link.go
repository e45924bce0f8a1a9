// Package link knows byte streams to instruments: a serial port, or a raw TCP
// socket in its place. It knows deadlines, line time, who holds a port and
// what to do when it is unplugged; it knows no protocol.
//
// A Port has one owner. Reads have a deadline on the wall clock; what the
// system says in its many ways comes back as one of six errors: ErrTimeout,
// ErrGone, ErrBusy, ErrNoSuchPort, ErrAmbiguous, ErrPermission.
//
// Two programs on one serial port: the second is told ErrBusy. On Unix this
// program locks the device (flock), which every program that does likewise
// respects, sets the terminal's exclusive mode, which keeps out all but
// privileged users, and respects the lock files that other programs leave in
// /var/lock [2]. A program that does none of this and had the port open first
// is not noticed. Windows opens a serial port once only. A TCP socket is locked
// by nobody: how many masters a device server lets in is its own affair.
//
// Sources:
//
//	[1] MODBUS over Serial Line, Specification and Implementation Guide
//	    V1.02 (2006), for the time of a character and the silent interval.
//	[2] Filesystem Hierarchy Standard 3.0 (2015), section 5.9, for the lock
//	    files of serial devices (M).
package link

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"
)

// What can be wrong with a port. They come wrapped, with the port's name and
// what the system said; test with errors.Is.
var (
	// ErrTimeout: nothing came, or nothing could be sent, before the deadline.
	ErrTimeout = errors.New("nothing came in time")
	// ErrGone: the port was there and is no more; Reopen it.
	ErrGone = errors.New("the port is gone")
	// ErrBusy: another program, or another part of this one, holds the port.
	ErrBusy = errors.New("the port is in use")
	// ErrNoSuchPort: nothing of that name is there to be opened.
	ErrNoSuchPort = errors.New("no such port")
	// ErrAmbiguous: more than one port fits what is asked for.
	ErrAmbiguous = errors.New("more than one port fits")
	// ErrPermission: the port is there, but this user may not open it.
	ErrPermission = errors.New("no permission")
)

// Config says what to open and how its characters are framed.
type Config struct {
	// Name stands in messages, e.g. the link's name in the bench file. Empty:
	// the port's name.
	Name string
	// Port is a serial port's name, or "tcp://host:port". Where it is empty,
	// USB says which adapter is meant, under whatever name it is known when it
	// is opened.
	Port string
	USB  Identity
	// Baud must be positive for a serial port. DataBits 7 or 8 (0: 8), Parity
	// "none", "even" or "odd" ("": none), StopBits 1 or 2 (0: 1).
	Baud     int
	DataBits int
	Parity   string
	StopBits int
	// Timeout is the deadline of one exchange; 0 is taken as one second.
	Timeout time.Duration
}

// Options are what only some callers need.
type Options struct {
	// Taken is called on the reading goroutine each time it is about to read
	// again, or gives up, with the number of bytes that it has dealt with
	// since the last call. A lock-step clock knows by it that nothing is in
	// flight. May be nil.
	Taken func(n int)
	// Trace, if not nil, is given every byte that goes or comes, and what the
	// reader of the bytes made of them, in their order, on the goroutines that
	// send and read. It must return soon.
	Trace func(Traced)
	// List lists the ports among which Config.USB is looked for; nil: Ports.
	List func() ([]PortInfo, error)
}

// Traced is one entry of a byte trace: bytes, a verdict on those before it, or
// what happened to the port itself.
type Traced struct {
	// At is the calendar instant, with the clock reading that Go keeps: of
	// bytes that came, when the system handed them over, which may be well
	// before they were read.
	At time.Time
	// Link is the name of the port's configuration.
	Link string
	// Sent is true for bytes that went out.
	Sent  bool
	Bytes []byte
	// Verdict is what the protocol made of the bytes received before it, e.g.
	// "answer", "check sum wrong"; empty elsewhere.
	Verdict string
	// Port is e.g. "opened /dev/ttyUSB0", "gone: …"; empty elsewhere.
	Port string
}

// Conn is the raw stream under a Port.
type Conn interface {
	// Read waits a short while (a tenth of a second, or so) for bytes and
	// returns 0, nil when none came. Any error means that the stream is gone.
	Read(b []byte) (int, error)
	// Write may block for ever.
	Write(b []byte) (int, error)
	// Close may be called while Read or Write is under way.
	Close() error
}

// Port is an open stream with deadlines. Its methods belong to one goroutine.
type Port struct {
	config Config
	taken  func(int)
	trace  func(Traced) // nil: nobody wants it
	list   func() ([]PortInfo, error)
	dial   func() (Conn, error)

	// mu guards stream and found: Close may come from outside.
	mu     sync.Mutex
	stream *stream
	found  string // where the adapter on USB was last

	first Identity // of the adapter that a port's name stood for at first

	gone    bool // the trace was told
	pending int  // bytes handed out since the last call of taken
}

// Open opens what c names. The errors are ErrBusy, ErrNoSuchPort and
// ErrPermission, or what the system said of an impossible framing.
func Open(c Config, o Options) (*Port, error) {
	p := New(c, o)
	if err := p.Reopen(); err != nil {
		return nil, err
	}
	return p, nil
}

// New returns a port that is not open yet; what it is asked for ends with
// ErrGone until Reopen succeeds.
func New(c Config, o Options) *Port {
	p := Over(c, o, nil)
	p.dial = p.open
	return p
}

// Over returns a port that is not open yet over a stream of the caller's own:
// Reopen calls dial.
func Over(c Config, o Options, dial func() (Conn, error)) *Port {
	p := &Port{config: c, taken: o.Taken, trace: o.Trace, list: o.List, dial: dial}
	if p.taken == nil {
		p.taken = func(int) {}
	}
	if p.list == nil {
		p.list = Ports
	}
	return p
}

// open opens what the configuration names.
func (p *Port) open() (Conn, error) {
	c := p.config
	if c.Port == "" && c.USB.Given() {
		ports, err := p.list()
		if err != nil {
			return nil, err
		}
		info, err := c.USB.Find(ports)
		if err != nil {
			return nil, err
		}
		c.Port = info.Name
		p.mu.Lock()
		p.found = info.Name
		p.mu.Unlock()
	}
	if address, ok := strings.CutPrefix(c.Port, "tcp://"); ok {
		return dialTCP(address, c.timeout(), usualPatience)
	}
	now, err := p.same(c.Port)
	if err != nil {
		return nil, err
	}
	conn, err := openSerial(c)
	if err == nil && !p.first.Given() {
		p.first = now
	}
	return conn, err
}

// At is the name that the system knows the port by: the configuration's, or
// where the adapter on USB was found last; empty while it was never found.
func (p *Port) At() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return cmp.Or(p.config.Port, p.found)
}

// Config returns what the port was opened with.
func (p *Port) Config() Config { return p.config }

// Timeout is the deadline of one exchange.
func (p *Port) Timeout() time.Duration { return p.config.timeout() }

func (c Config) timeout() time.Duration {
	if c.Timeout <= 0 {
		return time.Second
	}
	return c.Timeout
}

// Read waits until at least one byte is there, the deadline has passed
// (ErrTimeout), the port is gone (ErrGone) or ctx ends (its error). Bytes
// that are there already are read even when the deadline has passed.
func (p *Port) Read(ctx context.Context, b []byte, deadline time.Time) (int, error) {
	p.Done()
	s := p.current()
	if s == nil {
		return 0, p.wrap(ErrGone, errors.New("it is not open"))
	}
	n, err := s.read(ctx, b, deadline)
	p.pending += n
	p.came(s, b[:n])
	switch {
	case err == nil, errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return n, err
	case errors.Is(err, ErrTimeout):
		return n, p.wrap(ErrTimeout, nil)
	}
	return n, p.lost(err)
}

// Write sends b. A write that has not ended at the deadline (ErrTimeout)
// leaves the port unusable: whatever comes next ends with ErrGone until
// Reopen.
func (p *Port) Write(ctx context.Context, b []byte, deadline time.Time) error {
	s := p.current()
	if s == nil {
		return p.wrap(ErrGone, errors.New("it is not open"))
	}
	if p.trace != nil && len(b) > 0 {
		p.trace(Traced{At: time.Now(), Link: p.traceName(), Sent: true, Bytes: slices.Clone(b)})
	}
	err := s.write(ctx, b, deadline)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, ErrTimeout):
		p.happened("closed: what was to be sent is stuck")
		p.shut()
		return p.wrap(ErrTimeout, errors.New("what was to be sent is stuck"))
	case ctx.Err() != nil:
		p.shut()
		return ctx.Err()
	}
	return p.lost(err)
}

// lost is ErrGone; the trace is told once.
func (p *Port) lost(why error) error {
	if !p.gone {
		p.gone = true
		p.happened("gone: " + why.Error())
	}
	return p.wrap(ErrGone, why)
}

// happened tells the trace what happened to the port itself.
func (p *Port) happened(what string) {
	if p.trace != nil {
		p.trace(Traced{At: time.Now(), Link: p.traceName(), Port: what})
	}
}

// Discard throws away what has come and not been read, and returns how many
// bytes that were.
func (p *Port) Discard() int {
	s := p.current()
	if s == nil {
		return 0
	}
	thrown := s.discard()
	p.came(s, thrown)
	p.pending += len(thrown)
	p.Done()
	return len(thrown)
}

// Judge tells the trace what the protocol made of the bytes that were read
// since the last call, e.g. "answer" or "check sum wrong".
func (p *Port) Judge(verdict string) {
	if p.trace != nil {
		p.trace(Traced{At: time.Now(), Link: p.traceName(), Verdict: verdict})
	}
}

// came tells the trace what was taken from s, one entry for each arrival.
func (p *Port) came(s *stream, b []byte) {
	if p.trace == nil {
		return
	}
	for len(b) > 0 {
		n, at := s.arrived(len(b))
		p.trace(Traced{At: at, Link: p.traceName(), Bytes: slices.Clone(b[:n])})
		b = b[n:]
	}
}

func (p *Port) traceName() string { return cmp.Or(p.config.Name, p.At()) }

// Done says that the bytes read so far have been dealt with and that no more
// are expected now. Read says so by itself.
func (p *Port) Done() {
	if p.pending > 0 {
		n := p.pending
		p.pending = 0
		p.taken(n)
	}
}

// Reopen closes the port if it is open and opens it again. Bytes that were
// waiting in it are thrown away.
func (p *Port) Reopen() error {
	p.shut()
	p.Done()
	conn, err := p.dial()
	if err != nil {
		return fmt.Errorf("open port %s: %w", p.name(), err)
	}
	p.mu.Lock()
	p.stream = newStream(conn, p.trace != nil)
	p.mu.Unlock()
	p.gone = false
	p.happened("opened " + p.At())
	return nil
}

// Close closes the port; it may be reopened. A port that is closed already
// stays so without an error.
func (p *Port) Close() error {
	err := p.shut()
	if err != nil {
		return fmt.Errorf("close port %s: %w", p.name(), err)
	}
	return nil
}

func (p *Port) shut() error {
	p.mu.Lock()
	s := p.stream
	p.stream = nil
	p.mu.Unlock()
	if s == nil {
		return nil
	}
	return s.close()
}

func (p *Port) current() *stream {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.stream
}

func (p *Port) name() string {
	at := p.At()
	if p.config.Port == "" && p.config.USB.Given() {
		at = strings.TrimPrefix(at+", "+p.config.USB.String(), ", ")
	}
	if p.config.Name == "" || p.config.Name == at {
		return at
	}
	return fmt.Sprintf("%s (%s)", p.config.Name, at)
}

func (p *Port) wrap(what, why error) error {
	if why == nil {
		return fmt.Errorf("port %s: %w", p.name(), what)
	}
	return fmt.Errorf("port %s: %w: %w", p.name(), what, why)
}
