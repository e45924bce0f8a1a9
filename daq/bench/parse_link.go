package bench

import (
	"net"
	"strconv"
	"strings"
	"time"

	"holdbench/daq/strict"
)

// TCPPrefix begins the port of a link that is a TCP connection.
const TCPPrefix = "tcp://"

const (
	lowestBaud, highestBaud = 50, 12_000_000
	// Below 1 ms some systems take a time-out for none at all.
	shortestTimeout, longestTimeout = time.Millisecond, time.Minute
	defaultTimeout                  = 500 * time.Millisecond
)

// links reads [[link]]. A serial port must state its baud; the frame is eight
// data bits, no parity, one stop bit unless the file says otherwise.
func (p *parser) links(tables []*strict.Table) {
	names, ports := map[string]int{}, map[string]int{}
	for _, t := range tables {
		l := Link{Name: name(t, names), DataBits: 8, Parity: "none", StopBits: 1, Timeout: defaultTimeout}
		port, usb := t.Optional("port"), t.Optional("usb")
		switch {
		case port.Given():
			l.Port = unique(port, "port", port.Text(), ports)
			usb.Refuse("port says it already")
		case usb.Given():
			l.USB = p.usb(usb)
		default:
			port.Fault("nothing", `a serial port, e.g. "/dev/ttyUSB0" or "COM3", "tcp://host:port", or usb = { vendor = "…", product = "…" } of an adapter`)
		}
		tcp := strings.HasPrefix(l.Port, TCPPrefix)
		if tcp {
			checkAddress(port, l.Port)
		} else if strings.Contains(l.Port, "://") {
			port.Fault(strict.Quote(l.Port), `a serial port, e.g. "/dev/ttyUSB0" or "COM3", or "tcp://host:port"`)
		}
		if k := t.Optional("baud"); k.Given() || !tcp {
			l.Baud = t.Required("baud").Int(lowestBaud, highestBaud)
		}
		if k := t.Optional("data_bits"); k.Given() {
			l.DataBits = k.Int(7, 8)
		}
		if k := t.Optional("parity"); k.Given() {
			l.Parity = k.OneOf("none", "even", "odd")
		}
		if k := t.Optional("stop_bits"); k.Given() {
			l.StopBits = k.Int(1, 2)
		}
		if k := t.Optional("timeout"); k.Given() {
			l.Timeout = k.Duration(shortestTimeout, longestTimeout)
		}
		p.bench.Links = append(p.bench.Links, l)
	}
}

// checkAddress notes a tcp port that is not host:port.
func checkAddress(k strict.Key, port string) {
	host, number, err := net.SplitHostPort(strings.TrimPrefix(port, TCPPrefix))
	n, bad := strconv.ParseUint(number, 10, 16)
	if err != nil || bad != nil || n == 0 || host == "" {
		k.Fault(strict.Quote(port), `"tcp://host:port", e.g. "tcp://10.0.0.7:4001"`)
	}
}

// link returns the link of that name.
func (b *Bench) link(name string) (Link, bool) {
	for _, l := range b.Links {
		if l.Name == name {
			return l, true
		}
	}
	return Link{}, false
}
