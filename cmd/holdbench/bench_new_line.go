package main

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// onePort is the port that is looked at.
type onePort struct {
	name string // as the system knows it, or tcp://host:port
	tcp  bool
	// kind of what is behind a tcp port: bench.ModbusTCP or bench.ModbusRTU.
	kind string
	link string // its name in the file
}

// choosePort asks for the n-th port.
func (b *newBench) choosePort(n int) (onePort, error) {
	ports, err := link.Ports()
	if err != nil {
		ports = nil // the list is a help; a port can be typed without it
	}
	offered := ""
	given := n < len(b.flags.ports)
	if !given {
		b.say("\nPorts that this system knows:")
		for i, p := range ports {
			b.say("  %d  %s  %s", i+1, p.Name, strings.TrimSpace(p.Product+" "+p.SerialNumber))
		}
		if len(ports) == 0 {
			b.say("  none. Is the adapter plugged in? A port can also be typed: /dev/ttyUSB0, COM3, tcp://10.0.0.7:502")
		}
		if len(ports) == 1 {
			offered = "1"
		}
	}
	q := question{flag: "--port", text: "Port (number or name)", offered: offered, check: func(s string) error {
		if s == "" || strings.Contains(s, "://") && !strings.HasPrefix(s, bench.TCPPrefix) {
			return fmt.Errorf(`found %q, want a serial port or "tcp://host:port"`, s)
		}
		if k, err := strconv.Atoi(s); err == nil && (k < 1 || k > len(ports)) {
			return fmt.Errorf("found %d, want a number of the list, or a port's name", k)
		}
		return nil
	}}
	if given {
		q.given, q.wasGiven = b.flags.ports[n], true
	}
	answer, err := b.ask(q)
	if err != nil {
		return onePort{}, err
	}
	if k, err := strconv.Atoi(answer); err == nil {
		answer = ports[k-1].Name
	}
	p := onePort{name: answer, tcp: strings.HasPrefix(answer, bench.TCPPrefix), kind: bench.ModbusRTU, link: fmt.Sprintf("line_%d", len(b.draft.Links)+1)}
	if !p.tcp {
		return p, nil
	}
	usual := bench.ModbusRTU
	if strings.HasSuffix(answer, ":502") {
		usual = bench.ModbusTCP
	}
	p.kind, err = b.ask(question{flag: "--kind", text: "Is it " + bench.ModbusTCP + ", or " + bench.ModbusRTU + " (or text) behind a device server that passes bytes on?",
		offered: usual, given: b.flags.kind, wasGiven: b.flags.kind != "", check: func(s string) error {
			if s != bench.ModbusTCP && s != bench.ModbusRTU {
				return fmt.Errorf("found %q, want %s or %s", s, bench.ModbusTCP, bench.ModbusRTU)
			}
			return nil
		}})
	return p, err
}

// columns is how wide a paragraph is.
const columns = 80

// searchPatience is how long an answer is waited for while looking.
const searchPatience = 250 * time.Millisecond

// open opens the port with a framing.
func (b *newBench) open(p onePort, f discovery.Framing) (*link.Port, error) {
	c := f.Config(link.Config{Name: p.link, Port: p.name, Timeout: searchPatience})
	if p.tcp {
		c = link.Config{Name: p.link, Port: p.name, Timeout: 2 * searchPatience}
	}
	return link.Open(c, link.Options{Trace: b.trace})
}

// line finds out what is on a port.
func (b *newBench) line(ctx context.Context, p onePort) error {
	if p.kind == bench.ModbusRTU && b.flags.listen > 0 {
		done, err := b.listen(ctx, p)
		if err != nil || done {
			return err
		}
	}
	done, err := b.search(ctx, p)
	if err != nil || done {
		return err
	}
	if p.kind == bench.ModbusRTU {
		return b.identify(ctx, p)
	}
	return nil
}

// framings are those to be tried, narrowed by what was said.
func (b *newBench) framings(p onePort, all []discovery.Framing) []discovery.Framing {
	if p.tcp {
		return []discovery.Framing{{}}
	}
	if b.framing.Baud != 0 && b.framing.DataBits != 0 {
		return []discovery.Framing{b.framing}
	}
	narrowed := slices.DeleteFunc(slices.Clone(all), func(f discovery.Framing) bool {
		return b.framing.Baud != 0 && f.Baud != b.framing.Baud ||
			b.framing.DataBits != 0 && f.Frame() != b.framing.Frame()
	})
	if len(narrowed) == 0 { // a baud that is not among the usual ones
		for _, frame := range []discovery.Framing{{DataBits: 8, Parity: "none", StopBits: 1}, {DataBits: 8, Parity: "even", StopBits: 1}} {
			frame.Baud = b.framing.Baud
			if b.framing.DataBits != 0 {
				frame = b.framing
				frame.Baud = 9600
			}
			narrowed = append(narrowed, frame)
		}
	}
	return narrowed
}

// listen waits for text that comes by itself; true when it came and was dealt
// with.
func (b *newBench) listen(ctx context.Context, p onePort) (bool, error) {
	b.say("\nListening on %s whether something comes by itself; nothing is sent …", p.name)
	tell := func(f discovery.Framing) {
		if !p.tcp {
			b.say("  %s", f)
		}
	}
	heard, err := discovery.Listen(ctx, func(f discovery.Framing) (*link.Port, error) { return b.open(p, f) },
		b.framings(p, discovery.TextFramings), time.Duration(b.flags.listen*float64(time.Second)), tell)
	if err != nil {
		return false, mended(err)
	}
	switch {
	case heard.Bytes == 0:
		b.say("not a byte came by itself")
		return false, nil
	case len(heard.Texts) == 0:
		b.say("%d bytes came, but no lines of text%s", heard.Bytes, prefixed(": ", heard.Guess))
		return false, nil
	}
	return b.text(p, heard)
}

// likelyAddresses are looked at first.
func likelyAddresses(p onePort) []byte {
	if p.kind == bench.ModbusTCP {
		return []byte{modbus.NoUnit, 1, 0, 2, 3, 4, 5}
	}
	var out []byte
	for a := byte(1); a <= 16; a++ {
		out = append(out, a)
	}
	return out
}

// search looks for Modbus instruments; true when one was found.
func (b *newBench) search(ctx context.Context, p onePort) (bool, error) {
	addresses, framings := b.addresses, b.framings(p, discovery.ModbusFramings)
	if len(addresses) == 0 {
		addresses = likelyAddresses(p)
	}
	b.say("")
	b.say("%s", wrapped(fmt.Sprintf("To find Modbus instruments on %s I will send read requests only (functions 3 and 4), at most %s per second, to %s%s. "+
		"Nothing is written. An instrument that is not a Modbus one may be confused by bytes that it did not expect.",
		p.name, number(b.flags.rate), addressesText(addresses), framingsText(p, framings)), columns))
	ok, err := b.agree("--yes", "Go on?", true)
	if err != nil || !ok {
		return false, err
	}
	out, err := b.searchFor(ctx, p, framings, addresses)
	if err != nil {
		return false, err
	}
	if len(b.addresses) == 0 && p.kind == bench.ModbusRTU {
		if out, err = b.searchRest(ctx, p, framings, addresses, out); err != nil {
			return false, err
		}
	}
	if len(out.Found) == 0 {
		b.nothingFound(p, out)
		return false, nil
	}
	return true, b.instruments(ctx, p, out.Found)
}

// searchRest offers the addresses that are not likely.
func (b *newBench) searchRest(ctx context.Context, p onePort, framings []discovery.Framing, asked []byte, out discovery.Outcome) (discovery.Outcome, error) {
	if len(out.Found) > 0 {
		framings = []discovery.Framing{out.Found[0].Framing}
	}
	var rest []byte
	for a := 1; a <= 247; a++ {
		if !slices.Contains(asked, byte(a)) {
			rest = append(rest, byte(a))
		}
	}
	slowest := max(b.pace, searchPatience) * time.Duration(len(rest)*len(framings))
	ok, err := b.agree("--address", fmt.Sprintf("Look at addresses %d–%d too? It takes up to %s, and Enter stops it.", rest[0], rest[len(rest)-1], slowest.Round(10*time.Second)), false)
	if err != nil || !ok {
		return out, err
	}
	more, err := b.searchFor(ctx, p, framings, rest)
	out.Found = append(out.Found, more.Found...)
	out.Garbled = append(out.Garbled, more.Garbled...)
	return out, err
}

func (b *newBench) searchFor(ctx context.Context, p onePort, framings []discovery.Framing, addresses []byte) (discovery.Outcome, error) {
	stoppable, stop := b.until(ctx)
	defer stop()
	var last discovery.Framing
	known := 0
	s := discovery.Search{
		Framings: framings, Addresses: addresses, Pace: b.pace,
		Open: func(f discovery.Framing) (discovery.Asker, func() error, error) { return b.master(p, f) },
		Tell: func(f discovery.Framing, _ byte, found []discovery.Found) {
			if f != last && !p.tcp {
				b.say("  %s …", f)
				last = f
			}
			if len(found) > known {
				known = len(found)
				b.say("  %s", foundText(found[known-1]))
			}
		},
	}
	if b.person {
		b.say("looking … (Enter stops)")
	}
	out, err := s.Run(stoppable)
	if len(out.Found) > known {
		b.say("  %s", foundText(out.Found[len(out.Found)-1]))
	}
	if err != nil {
		return out, mended(err)
	}
	return out, ctx.Err()
}

// master opens the port as a Modbus master.
func (b *newBench) master(p onePort, f discovery.Framing) (discovery.Asker, func() error, error) {
	port, err := b.open(p, f)
	if err != nil {
		return nil, nil, err
	}
	if p.kind == bench.ModbusTCP {
		return modbus.NewTCPClient(port, daq.NewWallClock()), port.Close, nil
	}
	return modbus.NewClient(port, daq.NewWallClock()), port.Close, nil
}

func foundText(f discovery.Found) string {
	text := fmt.Sprintf("address %d answers", f.Address)
	if f.Framing.Baud > 0 {
		text += " at " + f.Framing.String()
	}
	if f.Refused != nil {
		text += " (" + f.Refused.Error() + ", which proves it too)"
	}
	return text
}

// nothingFound says what to look at.
func (b *newBench) nothingFound(p onePort, out discovery.Outcome) {
	b.say("no Modbus instrument answered on %s (%d questions)", p.name, out.Asked)
	if n := len(out.Garbled); n > 0 {
		b.say("%s", wrapped(fmt.Sprintf("but bytes came %d times that made no sense, e.g. at %s from address %d: baud or parity may be one that was not tried (--baud, --frame), or the line needs its termination and shield looked at",
			n, out.Garbled[0].Framing, out.Garbled[0].Address), columns))
		return
	}
	if p.tcp {
		b.say("LOOK FIRST: the unit's address (--address), and whether it is %s or %s\n(--kind); then its power", bench.ModbusTCP, bench.ModbusRTU)
		return
	}
	b.say("LOOK FIRST: its power; then A and B at the adapter's terminals (swapped?); then its\naddress and baud (--address, --baud)")
}

// number is a figure without useless decimals.
func number(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// addressesText names addresses, runs of them shortened.
func addressesText(all []byte) string {
	sorted := slices.Sorted(slices.Values(all))
	var parts []string
	for i := 0; i < len(sorted); {
		k := i
		for k+1 < len(sorted) && sorted[k+1] == sorted[k]+1 {
			k++
		}
		if k > i {
			parts = append(parts, fmt.Sprintf("%d–%d", sorted[i], sorted[k]))
		} else {
			parts = append(parts, strconv.Itoa(int(sorted[i])))
		}
		i = k + 1
	}
	if len(sorted) == 1 {
		return "address " + parts[0]
	}
	return "addresses " + strings.Join(parts, ", ")
}

func framingsText(p onePort, framings []discovery.Framing) string {
	if p.tcp {
		return ""
	}
	var each []string
	for _, f := range framings {
		each = append(each, f.String())
	}
	return " at " + strings.Join(each, ", ")
}

// parseAddresses reads 1-16 or 1,5,17; nothing is nil.
func parseAddresses(text string) ([]byte, bool) {
	var out []byte
	for _, part := range strings.Split(text, ",") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		from, to, isRange := strings.Cut(part, "-")
		a, err := strconv.ParseUint(from, 10, 8)
		last := a
		if isRange && err == nil {
			last, err = strconv.ParseUint(to, 10, 8)
		}
		if err != nil || last < a {
			return nil, false
		}
		for ; a <= last; a++ {
			out = append(out, byte(a))
		}
	}
	return out, true
}

// parseRange reads 0-127.
func parseRange(text string) (out [2]int, ok bool) {
	from, to, isRange := strings.Cut(text, "-")
	if !isRange {
		to = from
	}
	a, err1 := strconv.ParseUint(strings.TrimSpace(from), 10, 16)
	z, err2 := strconv.ParseUint(strings.TrimSpace(to), 10, 16)
	return [2]int{int(a), int(z)}, err1 == nil && err2 == nil && a <= z && z-a < 2000
}
