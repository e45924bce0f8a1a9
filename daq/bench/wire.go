package bench

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
	"holdbench/daq/sensor"
)

// WireOptions are what a run may change of the bench file's wiring.
type WireOptions struct {
	// Taken gives each link the function that hears of bytes dealt with; see
	// link.Options. May be nil.
	Taken func(link string) func(n int)
	// Ports replaces the file's port of a link, by the link's name.
	Ports map[string]string
	// Partial goes on when a port does not open: its error is in
	// Wiring.Faults, and its line is tried again as if it had been unplugged.
	Partial bool
	// Trace, if not nil, is given every byte of every link; see link.Options.
	// Links call it at the same time.
	Trace func(link.Traced)
	// List lists the ports among which a link's USB adapter is looked for, at
	// each opening; nil: link.Ports.
	List func() ([]link.PortInfo, error)
	// Dial, if not nil, opens a link, by its name, in place of its port: a line
	// that is nowhere on this machine.
	Dial func(link string) (link.Conn, error)
}

// Wiring is a bench with its ports open.
type Wiring struct {
	// Lines for the scanner, in the order of the bench file's links.
	Lines []daq.Line
	// Channels in the order of the bench file.
	Channels []daq.Channel
	// Faults are the ports that did not open, by the link's name.
	Faults map[string]error

	ports map[string]*link.Port
}

// Port is the name that the system knows a link's port by: the bench file's, or
// where its USB adapter was found last; empty while it was never found.
func (w *Wiring) Port(link string) string {
	if p := w.ports[link]; p != nil {
		return p.At()
	}
	return ""
}

// Close closes every port.
func (w *Wiring) Close() error {
	var all error
	for _, l := range w.Lines {
		all = errors.Join(all, l.Close())
	}
	return all
}

// Wire opens the ports of the bench and puts together what the scanner needs.
// When a port does not open, the errors of all such ports come back joined
// (see link.Open; Remedy says what to do) and nothing stays open, unless
// o.Partial.
func (b *Bench) Wire(clock daq.Clock, o WireOptions) (*Wiring, error) {
	w := &Wiring{Faults: map[string]error{}, ports: map[string]*link.Port{}}
	convert, err := b.Converter()
	if err != nil {
		return nil, err
	}
	for i, c := range b.Channels {
		w.Channels = append(w.Channels, b.described(c, convert.channels[i].chain))
	}
	for _, l := range b.Links {
		port := l.port(o)
		line, err := b.line(l, &wire{port: port, clock: clock}, convert)
		if err != nil {
			return nil, errors.Join(err, w.Close())
		}
		if len(line.Sources) == 0 {
			continue // a link that nobody uses is not opened
		}
		if err := port.Reopen(); err != nil {
			w.Faults[l.Name] = err
		}
		w.Lines = append(w.Lines, line)
		w.ports[l.Name] = port
	}
	if len(w.Faults) > 0 && !o.Partial {
		all := w.Close()
		for _, l := range b.Links {
			all = errors.Join(all, w.Faults[l.Name])
		}
		return nil, all
	}
	return w, nil
}

// usualBaud is for a link that the bench file reaches by TCP, which needs no
// rate, when a serial port is put in its place.
const usualBaud = 19200

func (l Link) config(port string) link.Config {
	return link.Config{
		Name: l.Name, Port: cmp.Or(port, l.Port), USB: l.USB,
		Baud: cmp.Or(l.Baud, usualBaud), DataBits: l.DataBits, Parity: l.Parity, StopBits: l.StopBits,
		Timeout: l.Timeout,
	}
}

// port is the link's, not open yet.
func (l Link) port(o WireOptions) *link.Port {
	config, options := l.config(o.Ports[l.Name]), l.options(o)
	if o.Dial == nil {
		return link.New(config, options)
	}
	return link.Over(config, options, func() (link.Conn, error) { return o.Dial(l.Name) })
}

func (l Link) options(o WireOptions) link.Options {
	options := link.Options{Trace: o.Trace, List: o.List}
	if o.Taken != nil {
		options.Taken = o.Taken(l.Name)
	}
	return options
}

// line puts together the instruments on a link.
func (b *Bench) line(l Link, w *wire, convert *Converter) (daq.Line, error) {
	line := daq.Line{
		Name:   l.Name,
		Reopen: func(context.Context) error { return w.port.Reopen() },
		Gone:   func(err error) bool { return errors.Is(err, link.ErrGone) },
		Close:  w.port.Close,
	}
	for _, in := range b.Instruments {
		if in.Link != l.Name {
			continue
		}
		k, ok := kindOf(in.Kind)
		if !ok {
			return daq.Line{}, fmt.Errorf("instrument %q: no kind %q", in.Name, in.Kind)
		}
		source := daq.Source{Name: in.Name, Interval: in.Interval, Streams: k.streams}
		var channels []Channel
		for i, c := range b.Channels {
			if c.Instrument == in.Name {
				channels = append(channels, c)
				source.Channels = append(source.Channels, i)
				source.Labels = append(source.Labels, c.Name)
			}
		}
		if len(channels) == 0 {
			continue
		}
		k.open(&source, w, in, channels)
		source.Convert = func(at time.Duration, dst []daq.Reading, src []daq.Signal) {
			convert.Convert(in.Name, at, dst, src)
		}
		b.states(&source)
		b.drive(&source, k, w, in)
		line.Sources = append(line.Sources, source)
	}
	return line, nil
}

// described is the channel as a recording names it.
func (b *Bench) described(c Channel, chain sensor.Config) daq.Channel {
	d := daq.Channel{
		Name: c.Name, Quantity: c.Quantity,
		// What the readings before it can make invalid is kept nevertheless.
		Converted: chain.Converted() || c.StuckAfter > 0 || c.Fastest > 0, RawUnit: c.RawUnit,
		Instrument: c.Instrument, State: c.State,
	}
	if c.State {
		d.Converted = c.Inverted
	}
	for _, in := range b.Instruments {
		if in.Name == c.Instrument {
			d.Interval = in.Interval
		}
	}
	return d
}
