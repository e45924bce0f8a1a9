package bench

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"holdbench/daq"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
	"holdbench/daq/textline"
)

// Finding is one thing that is wrong with a bench as it was watched, and where
// to look for it.
type Finding struct {
	// Look names the thing to look at first, wire or terminal or key; What is
	// what was seen, from which that follows.
	Look, What string
	// Mend is what to do about it where Look does not say so already; may be
	// empty.
	Mend string
	// Depth orders findings: what lies at the root of others comes first.
	Depth Depth
}

// Depth is how near to the root a finding is: a port that does not open is the
// reason for all that its instruments do not say.
type Depth int

// The depths, the root first.
const (
	AtPort       Depth = iota // nothing can be sent or heard
	AtLine                    // concerns everything on a line
	AtInstrument              // one instrument of a line
	AtChannel                 // one input of an instrument
	AtNeedy                   // a channel that waits for another's reading
	NowAndThen                // works, but not always
)

// Heard is what the byte trace of a link says of it; see discovery.Ear.
type Heard func(link string) discovery.Heard

// Diagnose says what is wrong with a bench that was watched (Wiring.Probe), in
// the order in which to mend it: what is mended first may mend what follows.
// Empty: nothing is wrong.
func (b *Bench) Diagnose(w *Wiring, probes []Probe, heard Heard) []Finding {
	d := diagnosis{bench: b, heard: heard}
	for _, l := range b.Links {
		var on []Probe
		for _, p := range probes {
			if p.Link == l.Name {
				on = append(on, p)
			}
		}
		if len(on) > 0 {
			d.line(l, w.Faults[l.Name], on)
		}
	}
	for _, p := range probes {
		d.channels(p)
	}
	slices.SortStableFunc(d.findings, func(a, b Finding) int { return cmp.Compare(a.Depth, b.Depth) })
	return d.findings
}

// diagnosis gathers findings.
type diagnosis struct {
	bench    *Bench
	heard    Heard
	findings []Finding
}

func (d *diagnosis) find(depth Depth, look, what string) {
	d.findings = append(d.findings, Finding{Look: look, What: what, Depth: depth})
}

// line looks at all that hangs on a link together, because one mute instrument
// beside one that answers is another fault than a mute line.
func (d *diagnosis) line(l Link, fault error, on []Probe) {
	if d.port(l, fault, on) {
		return
	}
	heard := d.heard(l.Name)
	if heard.Others > 0 {
		d.find(AtLine, fmt.Sprintf("link %s: a second master on the same two wires (another program's adapter, a panel, a controller): take one of them off", l.Name),
			fmt.Sprintf("somebody else asks on this line: %d questions that this program did not send", heard.Others))
	}
	var mute, well []Probe
	for _, p := range on {
		if len(p.Scans) == 0 {
			mute = append(mute, d.waiting(p, heard))
		} else {
			well = append(well, p)
		}
	}
	switch {
	case len(mute) > 1 && len(well) == 0 && sameCause(mute) && !errors.Is(mostly(mute[0]), textline.ErrOther):
		d.muteLine(l, mute, heard)
	default:
		for _, p := range mute {
			d.mute(l, p, well, heard)
		}
	}
	d.nowAndThen(l, well)
}

// waiting gives a probe that ended before its first exchange did the cause
// that is to be taken for it.
func (d *diagnosis) waiting(p Probe, heard discovery.Heard) Probe {
	if p.Failed > 0 {
		return p
	}
	in, _ := d.bench.instrument(p.Instrument)
	silent, garbled := modbus.ErrNoAnswer, modbus.ErrGarbled
	if strings.HasPrefix(in.Kind, "text-") {
		silent, garbled = textline.ErrSilent, textline.ErrGarbled
	}
	if heard.Came > 0 {
		silent = garbled
	}
	p.Failed, p.Causes = 1, map[error]int{silent: 1}
	p.Err = fmt.Errorf("%w while it was watched", silent)
	return p
}

// port notes a port that is not open; nothing else is known of its link then.
func (d *diagnosis) port(l Link, fault error, on []Probe) bool {
	if fault == nil {
		for _, p := range on {
			if errors.Is(p.Err, link.ErrGone) {
				fault = p.Err
			}
		}
	}
	at := l.place()
	switch {
	case fault == nil:
		return false
	case errors.Is(fault, link.ErrBusy):
		d.find(AtPort, "the other program that holds "+at, fault.Error())
	case errors.Is(fault, link.ErrPermission):
		d.find(AtPort, "this user's right to open "+at, fault.Error())
	case errors.Is(fault, link.ErrGone) && l.tcp(), errors.Is(fault, link.ErrNoSuchPort) && l.tcp():
		d.find(AtPort, "the device server of "+at+": its power, its network plug, its address", fault.Error())
		d.findings[len(d.findings)-1].Mend = "see that it is switched on and that address and port number are its own; " +
			"many serve one program at a time: close the other one"
		return true
	case errors.Is(fault, link.ErrGone):
		d.find(AtPort, "the USB plug of "+at+": it was there and went away", fault.Error())
	case errors.Is(fault, link.ErrNoSuchPort):
		d.find(AtPort, "the USB plug of "+at+": is it plugged in, and under which name? (holdbench ports)", fault.Error())
	default:
		d.find(AtPort, at, fault.Error())
	}
	d.findings[len(d.findings)-1].Mend = Remedy(fault)
	return true
}

func (l Link) tcp() bool { return strings.HasPrefix(l.Port, TCPPrefix) }

// place names a link and its port.
func (l Link) place() string {
	switch {
	case l.Port != "":
		return fmt.Sprintf("link %s (%s)", l.Name, l.Port)
	case l.USB.Given():
		return fmt.Sprintf("link %s (%s)", l.Name, l.USB)
	}
	return "link " + l.Name
}

// framing is what the bench file says of a link's characters.
func (l Link) framing() string {
	if l.tcp() {
		return "what the device server is set to"
	}
	return discovery.Framing{Baud: l.Baud, DataBits: l.DataBits, Parity: l.Parity, StopBits: l.StopBits}.String() + " in the bench file"
}

// sameCause says whether instruments fail for the same reason.
func sameCause(probes []Probe) bool {
	for _, p := range probes[1:] {
		if mostly(p) != mostly(probes[0]) {
			return false
		}
	}
	return true
}

// mostly is what most of an instrument's failures come down to.
func mostly(p Probe) error {
	var most error
	for _, r := range remedies { // in this order, so that a tie has one outcome
		if n := p.Causes[r.err]; n > 0 && (most == nil || n > p.Causes[most]) {
			most = r.err
		}
	}
	if most == nil {
		return cause(p.Err)
	}
	return most
}

// muteLine notes a line of several instruments, none of which is understood.
func (d *diagnosis) muteLine(l Link, mute []Probe, heard discovery.Heard) {
	all := fmt.Sprintf("none of its %d instruments", len(mute))
	switch cause := mostly(mute[0]); {
	case errors.Is(cause, modbus.ErrGarbled), errors.Is(cause, textline.ErrGarbled):
		d.find(AtLine, fmt.Sprintf("link %s: baud, parity and stop bits (%s); then its termination and shield", l.Name, l.framing()),
			all+" is understood: bytes come, but they make no sense")
	case errors.Is(cause, modbus.ErrForeign):
		d.find(AtLine, fmt.Sprintf("link %s: the addresses of its instruments", l.Name),
			all+" answers under its address, another one does")
	case heard.Echoed > 0:
		d.find(AtLine, fmt.Sprintf("link %s: its A and B wires beyond the adapter (loose, swapped), then baud and parity (%s)", l.Name, l.framing()),
			all+" answers; the adapter hears its own questions, so it sends")
	case l.tcp():
		d.find(AtLine, fmt.Sprintf("link %s: the A and B terminals of the device server (swapped?), then the baud and parity that it is set to", l.Name),
			all+" answers, and not a byte comes")
	default:
		d.find(AtLine, fmt.Sprintf("link %s: A and B at the adapter's terminals (swapped, loose?), then the instruments' power, then baud and parity (%s)", l.Name, l.framing()),
			all+" answers, and not a byte comes")
	}
}

// mute notes one instrument that is not understood; well are those on its
// line that are.
func (d *diagnosis) mute(l Link, p Probe, well []Probe, heard discovery.Heard) {
	who, beside := d.named(p.Instrument, l), ""
	if len(well) > 0 {
		beside = "; adapter, baud and the line itself are right, for " + well[0].Instrument + " answers"
	}
	what := fmt.Sprintf("asked in vain (%d×): %v%s", p.Failed, p.Err, beside)
	if in, _ := d.bench.instrument(p.Instrument); in.streams() {
		what = "waited in vain: " + p.Err.Error()
	}
	x := modbus.Exception(0)
	switch cause := mostly(p); {
	case errors.As(cause, &x):
		d.refused(p, x)
	case errors.Is(cause, modbus.ErrForeign):
		d.find(AtInstrument, who+": its address: another one answers, or two instruments have the same", what)
	case errors.Is(cause, modbus.ErrGarbled) && len(well) > 0:
		d.find(AtInstrument, who+": its own baud and parity, or another instrument with its address that talks at the same time", what)
	case errors.Is(cause, modbus.ErrGarbled):
		d.find(AtLine, fmt.Sprintf("link %s: baud, parity and stop bits (%s) against those of %s; then termination and shield", l.Name, l.framing(), who), what)
	case errors.Is(cause, textline.ErrOther):
		d.find(AtInstrument, who+": which instrument is plugged in there: not the one that is meant", what)
		d.findings[len(d.findings)-1].Mend = Remedy(cause)
	case errors.Is(cause, textline.ErrGarbled) && heard.Came > 0 && 10*heard.Legible > 9*heard.Came:
		d.find(AtInstrument, "the bench file: separator and columns of "+who+": lines come, but not as it says", what)
	case errors.Is(cause, textline.ErrGarbled):
		d.find(AtLine, fmt.Sprintf("link %s: baud, parity and stop bits (%s) against those of %s", l.Name, l.framing(), who), what)
	case errors.Is(cause, textline.ErrSilent):
		d.find(AtInstrument, who+": its power and plug; that its transmit wire goes to the adapter's receive; that it is set to send", what)
	case errors.Is(cause, modbus.ErrNoAnswer) && len(well) > 0:
		d.find(AtInstrument, who+": its power, its own A and B wires, and its address", what)
	case errors.Is(cause, modbus.ErrNoAnswer) && heard.Echoed > 0:
		d.find(AtInstrument, who+": its power, then A and B between it and the adapter, which hears itself and so does send; then address, baud and parity", what)
	case errors.Is(cause, modbus.ErrNoAnswer):
		d.find(AtInstrument, who+": its power, then A and B between it and the adapter (swapped, loose?), then its address, baud and parity ("+l.framing()+")", what)
	default:
		d.find(AtInstrument, who, what)
	}
}

// refused notes a question that an instrument answers with an exception.
func (d *diagnosis) refused(p Probe, x modbus.Exception) {
	in, _ := d.bench.instrument(p.Instrument)
	which := "address"
	switch x {
	case 1:
		which = "function"
	case 2, 3:
		which = "register and function"
	case 6:
		which = "interval"
	case 10, 11:
		which = "address (the gateway does not reach the instrument)"
	}
	d.find(AtInstrument, fmt.Sprintf("the bench file: %s of %s's channels: wires are right, it answers but refuses", which, in.Name), p.Err.Error())
	d.findings[len(d.findings)-1].Mend = Remedy(x)
}

// named is an instrument with what tells it from others on its link.
func (d *diagnosis) named(name string, l Link) string {
	in, _ := d.bench.instrument(name)
	if in.Address > 0 {
		return fmt.Sprintf("instrument %s (address %d) on link %s", name, in.Address, l.Name)
	}
	return fmt.Sprintf("instrument %s on link %s", name, l.Name)
}

// nowAndThen notes instruments that are understood, but not always.
func (d *diagnosis) nowAndThen(l Link, well []Probe) {
	var garbled []Probe
	for _, p := range well {
		in, _ := d.bench.instrument(p.Instrument)
		if p.Failed == 0 || p.Failed == 1 && in.streams() {
			continue // a stream is in step only from its first end of line on
		}
		tries := len(p.Scans) + p.Failed
		what := fmt.Sprintf("%d of %d tries failed, the last: %v", p.Failed, tries, p.Err)
		x := modbus.Exception(0)
		switch cause := mostly(p); {
		case errors.As(cause, &x):
			d.refused(p, x)
		case errors.Is(cause, modbus.ErrGarbled), errors.Is(cause, textline.ErrGarbled):
			garbled = append(garbled, p)
		case errors.Is(cause, modbus.ErrForeign):
			d.find(NowAndThen, fmt.Sprintf("link %s: two instruments with the same address, or a time-out that is too short for %s", l.Name, p.Instrument), what)
		case errors.Is(cause, modbus.ErrNoAnswer), errors.Is(cause, textline.ErrSilent):
			d.find(NowAndThen, d.named(p.Instrument, l)+": a loose terminal, its power, or a time-out that is too short", what)
		default:
			d.find(NowAndThen, d.named(p.Instrument, l), what)
		}
	}
	for _, p := range garbled {
		what := fmt.Sprintf("%s: %d of %d tries failed, the last: %v", p.Instrument, p.Failed, len(p.Scans)+p.Failed, p.Err)
		look := fmt.Sprintf("link %s: termination (120 Ω at both ends of the cable, nowhere else), shield, and what runs beside the cable", l.Name)
		if len(garbled) == 1 && len(well) > 1 {
			look = d.named(p.Instrument, l) + ": its own stretch of cable and its terminals; the others on the line are understood"
		}
		d.find(NowAndThen, look, what)
		if look[0] == 'l' {
			break // the line's fault, said once
		}
	}
}

// channels notes what an instrument's inputs say of what is wired to them.
func (d *diagnosis) channels(p Probe) {
	counts := map[int]map[daq.Health]int{}
	var order []int
	for _, s := range p.Scans {
		for _, r := range s.Readings {
			if counts[r.Channel] == nil {
				counts[r.Channel] = map[daq.Health]int{}
				order = append(order, r.Channel)
			}
			counts[r.Channel][r.Health]++
		}
	}
	slices.Sort(order)
	if d.supply(p, counts) {
		return
	}
	for _, i := range order {
		if i < len(d.bench.Channels) {
			d.channel(d.bench.Channels[i], counts[i], p)
		}
	}
}
