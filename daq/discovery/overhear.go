package discovery

import (
	"encoding/binary"
	"fmt"
	"math/bits"
	"slices"
	"strings"

	"holdbench/daq/modbus"
)

// Overhearing gathers what came on a line to which nobody sends, and guesses
// what it is. The zero value has heard nothing.
type Overhearing struct {
	total     int // bytes
	counts    [256]int
	lineEnds  int
	waiting   []byte // not yet told to be a frame or not
	frames    map[Overheard]int
	framed    int // bytes in sound frames
	seenOrder []Overheard
}

// Overheard is a Modbus RTU frame with a sound check sum, by whom and what it
// is about.
type Overheard struct {
	Slave    byte
	Function byte // with the bit 80 for an exception
}

// longestFrame is that of Modbus RTU with its check, [1] section 2.5.1.
const longestFrame = 256

// Hear takes what came, and returns the frames that ended in it.
func (o *Overhearing) Hear(b []byte) []Overheard {
	o.total += len(b)
	for _, c := range b {
		o.counts[c]++
		if c == '\n' || c == '\r' {
			o.lineEnds++
		}
	}
	o.waiting = append(o.waiting, b...)
	return o.cut(false)
}

// Pause says that nothing came for a while: a frame has ended, sound or not.
func (o *Overhearing) Pause() []Overheard {
	found := o.cut(true)
	o.waiting = o.waiting[:0]
	return found
}

// cut takes sound frames from the front of what waits, and leaves what may
// still become one unless all has come.
func (o *Overhearing) cut(all bool) []Overheard {
	var found []Overheard
	b := o.waiting
	for len(b) > 0 {
		n, more := soundFrame(b)
		switch {
		case n > 0:
			f := Overheard{b[0], b[1]}
			if o.frames == nil {
				o.frames = map[Overheard]int{}
			}
			if o.frames[f] == 0 {
				o.seenOrder = append(o.seenOrder, f)
			}
			o.frames[f]++
			o.framed += n
			found = append(found, f)
			b = b[n:]
		case more && !all:
			o.waiting = append(o.waiting[:0], b...)
			return found
		default:
			b = b[1:]
		}
	}
	o.waiting = o.waiting[:0]
	return found
}

// soundFrame returns the length of the frame at the front of b, 0 for none;
// more says that further bytes could make one.
//
// Source: lengths by [2] sections 6.1 to 6.6, 6.11, 6.12 and 7.
func soundFrame(b []byte) (n int, more bool) {
	for _, want := range frameLengths(b) {
		switch {
		case want > longestFrame:
		case want > len(b):
			more = true
		case binary.LittleEndian.Uint16(b[want-2:]) == modbus.CRC(b[:want-2]):
			return want, false
		}
	}
	return 0, more
}

// frameLengths are the lengths that a frame with this beginning may have: as a
// question and as an answer.
func frameLengths(b []byte) []int {
	const unknown = 8 // enough to know more
	if b[0] > 247 {
		return nil // no address of a slave
	}
	if len(b) < 2 {
		return []int{unknown}
	}
	switch function := b[1]; function {
	case 1, 2, 3, 4:
		if len(b) < 3 {
			return []int{unknown}
		}
		return shorterFirst(8, 5+int(b[2]))
	case 5, 6:
		return []int{8}
	case 15, 16:
		if len(b) < 7 {
			return []int{unknown}
		}
		return shorterFirst(8, 9+int(b[6]))
	case 0x81, 0x82, 0x83, 0x84, 0x85, 0x86, 0x8f, 0x90:
		return []int{5}
	}
	return nil
}

// shorterFirst makes the answer the same however the bytes come in pieces.
func shorterFirst(a, b int) []int { return []int{min(a, b), max(a, b)} }

// String is e.g. "slave 1, function 4".
func (f Overheard) String() string {
	if f.Function >= 0x80 {
		return fmt.Sprintf("slave %d, exception to function %d", f.Slave, f.Function&0x7f)
	}
	return fmt.Sprintf("slave %d, function %d", f.Slave, f.Function)
}

// Thresholds of the guess: bounds of our own. A random byte is printable in 38
// of 100 cases, and of its nine steps from bit to bit, start and stop bit
// counted, at most three change in 36 of 100.
const (
	fewest      = 24 // bytes below which nothing is said
	mostlyText  = 0.97
	mostlySlow  = 0.85
	mostlyFrame = 0.3
)

// Guess says in words what it seems to be and what to do about it; empty while
// too little came to tell.
func (o *Overhearing) Guess() string {
	n := float64(o.total)
	switch {
	case len(o.frames) > 0 && (float64(o.framed) >= mostlyFrame*n || o.mostFrames() > 1):
		return "looks like Modbus RTU, check sums sound: " + o.frameList()
	case o.total < fewest:
		return ""
	case o.share(legible) >= mostlyText:
		return o.textGuess()
	}
	if parity := o.sevenBits(); parity != "" {
		return "looks like text with 7 data bits and " + parity + " parity: listen with --data-bits 7 --parity " + parity
	}
	if o.share(slow) >= mostlySlow {
		return "looks like a baud set too high: the bits come slower than they are read; try a lower --baud"
	}
	return fmt.Sprintf("no text (%.0f %% of the bytes are printable) and no Modbus RTU frame with a sound check sum: "+
		"baud or parity may be wrong, the wires may be swapped, or it is a protocol of another kind", 100*o.share(legible))
}

func (o *Overhearing) mostFrames() int {
	most := 0
	for _, n := range o.frames {
		most = max(most, n)
	}
	return most
}

func (o *Overhearing) frameList() string {
	var each []string
	for _, f := range o.seenOrder {
		each = append(each, f.String())
	}
	const most = 8
	slices.Sort(each)
	if len(each) > most {
		each = append(each[:most], fmt.Sprintf("and %d more", len(each)-most))
	}
	return strings.Join(each, "; ")
}

func (o *Overhearing) textGuess() string {
	if o.lineEnds == 0 {
		return "looks like text, without ends of lines so far"
	}
	return "looks like text in lines"
}

// share is the part of the bytes that are of a kind.
func (o *Overhearing) share(of func(byte) bool) float64 {
	n := 0
	for c, count := range o.counts {
		if of(byte(c)) {
			n += count
		}
	}
	return float64(n) / float64(max(o.total, 1))
}

// slow says whether a byte's bits change no more often than those of a sender
// of half the rate or less would.
func slow(c byte) bool {
	sent := uint16(c)<<1 | 1<<9 // start bit, data, stop bit, the first sent lowest
	return bits.OnesCount16((sent^sent>>1)&(1<<9-1)) <= 3
}

// sevenBits is the parity with which all bytes are text of seven bits, with
// the eighth used as intended; else empty.
func (o *Overhearing) sevenBits() string {
	if o.share(func(c byte) bool { return legible(c & 0x7f) }) < mostlyText {
		return ""
	}
	odd := o.share(func(c byte) bool { return bits.OnesCount8(c)%2 == 1 })
	switch {
	case odd >= mostlyText:
		return "odd"
	case odd <= 1-mostlyText:
		return "even"
	}
	return ""
}
