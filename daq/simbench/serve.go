package simbench

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"holdbench/daq/bench"
)

// ErrNoPTY says that this system has no pseudo-terminals.
var ErrNoPTY = errors.New("this system has no pseudo-terminals")

// socket is where one link is plugged in, seen from the instruments' side. It
// outlives what is plugged into it.
type socket interface {
	// Read waits for bytes from the program. It returns io.EOF once the
	// socket is closed, and no other error.
	io.Reader
	// send writes bytes to the program. It returns false when nobody is there
	// to receive them.
	send(b []byte) bool
	// await waits for somebody to be there, if anybody can be: at most so
	// long on the wall clock.
	await(atMost time.Duration)
	// port is what the program opens.
	port() string
	// unplug pulls the cable, plug puts it in again, at the same port.
	unplug() error
	plug() error
	io.Closer
}

// ServeOptions say how the instruments are reached.
type ServeOptions struct {
	// TCP puts every link on a TCP port of the loopback. Where the system has
	// no pseudo-terminals that happens by itself.
	TCP bool
	// Dir is a folder that exists, for the names of pseudo-terminals, which
	// stay the same when a cable is pulled and put in again. Empty: a
	// temporary one.
	Dir string
}

// Served is a simulated bench whose instruments can be reached.
type Served struct {
	// Ports is what to open for each link of the bench file, by its name: the
	// path of a pseudo-terminal, or "tcp://127.0.0.1:port".
	Ports map[string]string

	stop    context.CancelFunc
	sockets []socket
	running sync.WaitGroup
	remove  string // temporary folder
}

// Serve puts the rig's instruments on pseudo-terminals, or on TCP ports, and
// has them answer until ctx ends or Served.Close is called; call that in any
// case, since it waits for them and tidies up. A rig can be served once at a
// time.
func (r *Rig) Serve(ctx context.Context, o ServeOptions) (*Served, error) {
	ctx, stop := context.WithCancel(ctx)
	s := &Served{Ports: map[string]string{}, stop: stop}
	for i, l := range r.bench.Links {
		sock, err := r.open(s, l, i, &o)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("simulated link %q: %w", l.Name, err), s.Close())
		}
		s.sockets = append(s.sockets, sock)
		s.Ports[l.Name] = sock.port()
		r.mu.Lock()
		r.sockets[l.Name] = sock
		r.mu.Unlock()
	}
	for i, l := range r.bench.Links {
		r.answer(ctx, s, l, s.sockets[i])
	}
	context.AfterFunc(ctx, s.closeSockets)
	return s, nil
}

// open opens the socket of a link; bench files keep its name fit for a file's. The first that finds no pseudo-terminals
// has all go by TCP. What speaks Modbus TCP is never on a pseudo-terminal.
func (r *Rig) open(s *Served, l bench.Link, index int, o *ServeOptions) (socket, error) {
	if o.TCP || r.speaksTCP(l) {
		return newTCPSocket()
	}
	if o.Dir == "" {
		dir, err := os.MkdirTemp("", "holdbench-")
		if err != nil {
			return nil, err
		}
		o.Dir, s.remove = dir, dir
	}
	sock, err := newPTYSocket(filepath.Join(o.Dir, fmt.Sprintf("%d-%s", index+1, l.Name)))
	if errors.Is(err, ErrNoPTY) {
		o.TCP = true
		return newTCPSocket()
	}
	return sock, err
}

// speaksTCP says whether a link has Modbus TCP on it.
func (r *Rig) speaksTCP(l bench.Link) bool {
	return slices.ContainsFunc(r.bench.Instruments, func(in bench.Instrument) bool {
		return in.Link == l.Name && in.Kind == bench.ModbusTCP
	})
}

// answer starts the instruments of one link.
func (r *Rig) answer(ctx context.Context, s *Served, l bench.Link, sock socket) {
	bus := newBus()
	var meters []*meter
	bus.tcp = r.speaksTCP(l)
	for _, in := range r.bench.Instruments {
		switch {
		case in.Link != l.Name:
		case in.Kind == bench.TextStream:
			text := newStream(r, in)
			sleep, leave := r.pace() // here, so that streams come in the file's order
			s.running.Go(func() {
				defer leave()
				r.talk(ctx, text, in.Interval, l.Name, sock, sleep)
			})
		case in.Kind == bench.TextAsked:
			meters = append(meters, newMeter(r, in))
		default:
			bus.add(newModule(r, in))
		}
	}
	if len(meters) > 0 {
		s.running.Go(func() { serveMeters(meters, sock) })
		return
	}
	// Every link is read, also one of an instrument that never listens: its
	// bytes must not pile up.
	s.running.Go(func() { bus.serve(sock) })
}

// pace is the clock as an instrument goes by it: on a lock-step clock a
// follower, on any other just its Sleep.
func (r *Rig) pace() (sleep func(context.Context, time.Duration) error, leave func()) {
	if c, ok := r.clock.(*LockStep); ok {
		return c.follow()
	}
	return r.clock.Sleep, func() {}
}

// talk sends a line each interval, the first one interval from now.
func (r *Rig) talk(ctx context.Context, text *stream, every time.Duration, link string, sock socket,
	sleep func(context.Context, time.Duration) error) {
	say := func(line []byte) { sock.send(line) } // who is not there hears nothing
	if c, ok := r.clock.(*LockStep); ok {
		say = c.speaker(link, sock)
	}
	for at := r.clock.Now() + every; sleep(ctx, at) == nil; at += every {
		say(text.line())
	}
}

// speaker sends lines of which the clock knows that they are in flight. It
// waits for a listener, as the clock waits for readers: one that has just
// opened the port may not have been noticed yet.
func (c *LockStep) speaker(link string, sock socket) func(line []byte) {
	patience := writeOff
	return func(line []byte) {
		sock.await(patience)
		c.Sent(link, len(line))
		patience = writeOff
		if !sock.send(line) {
			c.drop(link)
			patience = writeOffAgain
		}
	}
}

func (s *Served) closeSockets() {
	for _, sock := range s.sockets {
		sock.Close() // twice does nothing more
	}
}

// Close stops the instruments, waits for them and removes the ports.
func (s *Served) Close() error {
	s.stop()
	var errs []error
	for _, sock := range s.sockets {
		errs = append(errs, sock.Close())
	}
	s.running.Wait()
	if s.remove != "" {
		errs = append(errs, os.RemoveAll(s.remove))
	}
	return errors.Join(errs...)
}

// Unplug pulls the cable of a link, Replug puts it in again. Both return an
// error when there is no such link or it is not served.
func (r *Rig) Unplug(link string) error {
	sock, err := r.socket(link)
	if err != nil {
		return err
	}
	err = sock.unplug()
	if c, ok := r.clock.(*LockStep); ok {
		c.drop(link)
	}
	return err
}

// Replug puts the cable of a link in again.
func (r *Rig) Replug(link string) error {
	sock, err := r.socket(link)
	if err != nil {
		return err
	}
	return sock.plug()
}

func (r *Rig) socket(link string) (socket, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if s, ok := r.sockets[link]; ok {
		return s, nil
	}
	var names []string
	for _, l := range r.bench.Links {
		names = append(names, l.Name)
	}
	return nil, fmt.Errorf("no link %q; there is %s", link, strings.Join(names, ", "))
}
