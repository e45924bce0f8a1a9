package bench

import (
	"context"
	"errors"
	"maps"
	"sync"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
	"holdbench/daq/textline"
)

// Probe is what one instrument said while it was watched.
type Probe struct {
	Instrument, Link string
	// Scans is what was read, in its order.
	Scans []daq.Scan
	// Failed is how often nothing was learned, and Err why, the last time;
	// Remedy says what to do about it. Err is also the port's own fault.
	Failed int
	Err    error
	// Causes counts the failures by what they come down to: an error of the
	// link or of the protocol, e.g. modbus.ErrNoAnswer, or a modbus.Exception.
	Causes map[error]int
	// Identity is what it said of itself when it was asked (*IDN?), empty where
	// it is not asked or said nothing.
	Identity string
	// Timing is how punctually it was scanned.
	Timing daq.Timing
}

// Probe scans every line for that long on the clock and returns what each
// instrument said, in the order of the lines. The wiring may be partial. It
// returns the context's error when that ends first. In lock-step the calling
// goroutine must not be joined to the clock.
func (w *Wiring) Probe(ctx context.Context, clock daq.Clock, span time.Duration) ([]Probe, error) {
	lines, watched := w.watch()
	scanner := daq.NewScanner(clock, lines)
	scans := map[string][]daq.Scan{}
	scanner.Subscribe(func(s daq.Scan) error {
		scans[s.Instrument] = append(scans[s.Instrument], s)
		return nil
	})
	running, stop := context.WithCancel(ctx)
	defer stop()
	over := make(chan error, 1)
	leave := clock.Join()
	go func() { over <- scanner.Run(running) }()
	early := clock.Sleep(running, clock.Now()+span)
	leave()
	stop()
	if err := errors.Join(early, <-over); err != nil {
		return nil, err
	}
	timing := scanner.Timing() // in the order of the lines, as watched is
	var out []Probe
	for i, e := range watched {
		p := e.probe()
		p.Scans, p.Timing = scans[p.Instrument], timing[i]
		if fault := w.Faults[p.Link]; fault != nil && len(p.Scans) == 0 {
			p.Err = fault
		}
		out = append(out, p)
	}
	return out, nil
}

// watch puts an ear to every instrument.
func (w *Wiring) watch() ([]daq.Line, []*ear) {
	var lines []daq.Line
	var ears []*ear
	for _, l := range w.Lines {
		own := l
		own.Sources = nil
		for _, s := range l.Sources {
			e := &ear{inner: s.Instrument, said: Probe{Instrument: s.Name, Link: l.Name}}
			s.Instrument = e
			s.Driver, s.Outputs = nil, nil // who looks writes nothing
			ears = append(ears, e)
			own.Sources = append(own.Sources, s)
		}
		lines = append(lines, own)
	}
	return lines, ears
}

// ear listens to how an instrument fails.
type ear struct {
	inner daq.Instrument

	mu   sync.Mutex
	good bool
	said Probe
}

func (e *ear) Sample(ctx context.Context, dst []daq.Signal) error {
	err := e.inner.Sample(ctx, dst)
	e.mu.Lock()
	defer e.mu.Unlock()
	switch {
	case err == nil:
		e.good = true
		if in, ok := e.inner.(interface{ Unanswered() error }); ok && in.Unanswered() != nil {
			e.failed(in.Unanswered())
		}
	case ctx.Err() == nil:
		e.failed(err)
	case !e.good && e.said.Err == nil: // told to stop before anything was learned
		e.said.Err = err
	}
	return err
}

func (e *ear) failed(err error) {
	e.said.Failed++
	e.said.Err = err
	if e.said.Causes == nil {
		e.said.Causes = map[error]int{}
	}
	e.said.Causes[cause(err)]++
}

// cause is what an error comes down to; nil when it is none that is known.
func cause(err error) error {
	for _, r := range remedies {
		if errors.Is(err, r.err) {
			return r.err
		}
	}
	if x := modbus.Exception(0); errors.As(err, &x) {
		return x
	}
	return nil
}

func (e *ear) probe() Probe {
	e.mu.Lock()
	defer e.mu.Unlock()
	said := e.said
	said.Causes = maps.Clone(said.Causes)
	if in, ok := e.inner.(interface{ Identity() string }); ok {
		said.Identity = in.Identity()
	}
	return said
}

// remedies says of each thing that can be wrong with a port or an instrument
// how it is mended, the first that fits.
var remedies = []struct {
	err    error
	remedy string
}{
	{link.ErrPermission, "let this user open the port, as the message says"},
	{link.ErrBusy, "close the other program that uses the port, or wait until it has ended"},
	{link.ErrNoSuchPort, "plug the adapter in, or see under which name it is known (holdbench ports) and write that into the bench file; for tcp, see that the device server is switched on and its address is right"},
	{link.ErrAmbiguous, "say in the bench file which one is meant: usb = { … } with its serial number, or port, as holdbench ports prints them"},
	{modbus.ErrNotMBAP, "what comes is no Modbus TCP: see that the port number is the instrument's (usually 502); a device server that only passes bytes on wants kind = \"modbus-rtu\""},
	{modbus.ErrForeign, "another instrument answers: compare the address in the bench file with the instrument's, and see that no two on the line have the same"},
	{modbus.ErrGarbled, "bytes come but make no sense: compare baud, parity and stop bits with the instrument's; then look at the line's termination and shield"},
	{modbus.ErrNoAnswer, "the port opens but nothing answers: see that the instrument has power, that its two wires are not swapped, and that address and baud are the instrument's"},
	{textline.ErrOther, "plug in the instrument that belongs there; where it was exchanged on purpose, start again, and write its identity, range and calibration into the bench file first"},
	{textline.ErrBlock, "the instrument sends blocks of data: have it send text (ASCII), with a command in setup where it has one"},
	{textline.ErrNoReply, "the port opens but nothing answers: see that the instrument has power, that transmit and receive are not swapped, that baud is the instrument's, and that query and query_terminator are what it understands"},
	{textline.ErrGarbled, "bytes come but no line of numbers: compare baud, parity and stop bits with the instrument's, then the separator and the columns"},
	{textline.ErrSilent, "the port opens but not a byte comes: see that the instrument has power, sends by itself, and that transmit and receive are not swapped"},
	{link.ErrGone, "the adapter was unplugged or the device server closed the connection: plug it in again; it is opened by itself"},
	{modbus.Exception(1), "the instrument does not know the function: try the other one of 3 and 4 in the bench file"},
	{modbus.Exception(2), "the instrument has no such register: compare register (it counts from 0) and function with its manual"},
	{modbus.Exception(3), "the instrument does not give so many registers at once: compare registers and types with its manual"},
	{modbus.GatewayUnavailable, "the gateway answers, but knows no way to this address: compare address with the gateway's own settings"},
	{modbus.GatewayNoResponse, "the gateway answers, but the instrument behind it does not: compare address, look at the instrument's power and at the two wires between them"},
	{modbus.Exception(6), "the instrument is busy: give it more time between scans (interval)"},
	{link.ErrTimeout, "what is sent does not leave the port: see that no flow control holds it back, and plug the adapter in anew"},
}

// Remedy says in plain words how to mend what an error of a port or an
// instrument means; empty when it knows no remedy.
func Remedy(err error) string {
	for _, r := range remedies {
		if errors.Is(err, r.err) {
			return r.remedy
		}
	}
	var x modbus.Exception
	if errors.As(err, &x) {
		return "the instrument answers but refuses: look the exception up in its manual"
	}
	return ""
}
