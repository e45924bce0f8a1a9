package daqtest

import (
	"math/rand/v2"
	"slices"
	"sync"
	"time"
)

// Fault is what a bad line does to one thing that an instrument says.
type Fault struct {
	// Name says it in a word or two.
	Name string
	harm func(f *Faulty, said []byte) []piece
}

// piece is bytes that come together, after a pause.
type piece struct {
	after time.Duration
	bytes []byte
}

// The faults. Each takes what was said and leaves what comes out of the line.
var (
	Delayed     = Fault{"delayed", delayed}
	Lost        = Fault{"missing", func(*Faulty, []byte) []piece { return nil }}
	Truncated   = Fault{"truncated", truncated}
	Duplicated  = Fault{"duplicated", func(_ *Faulty, said []byte) []piece { return []piece{{0, said}, {0, said}} }}
	BitFlipped  = Fault{"bits flipped", flipped}
	Interleaved = Fault{"interleaved with another's", interleaved}
	Dribbled    = Fault{"dribbled", dribbled}
	// Stolen: another program reads the same port and takes some of the bytes.
	Stolen = Fault{"bytes taken by another program", stolen}
	// Foreign: another instrument on the line answers in this one's place.
	Foreign = Fault{"another instrument answers", func(f *Faulty, said []byte) []piece { return []piece{{0, f.Other(said)}} }}
	// Noisy: bytes without sense before what was said.
	Noisy = Fault{"noise before it", noisy}
	// WrongBaud: what was said at 19 200 bit/s is heard at another rate.
	WrongBaud = Fault{"heard at another baud", misheard}
)

// Faults are those that strike now and then: all but WrongBaud.
var Faults = []Fault{Delayed, Lost, Truncated, Duplicated, BitFlipped, Interleaved, Dribbled, Stolen, Foreign, Noisy}

// Faulty is the way from an instrument to a cable over a bad line: it harms a
// share of what is said, the same for the same seed, and keeps the order. It
// works in a testing/synctest bubble.
type Faulty struct {
	Cable *Cable
	Fault Fault
	// Rate is the share of what is said that is harmed, 0 to 1.
	Rate float64
	// Character is the time that one character takes; 0: none.
	Character time.Duration
	// Latest is the longest delay of Delayed.
	Latest time.Duration
	// Other is what another instrument says instead, for Interleaved and
	// Foreign.
	Other func(said []byte) []byte

	mu           sync.Mutex
	random       *rand.Rand
	free         time.Time // when the line is free again
	said, harmed int
}

// AnyOf is one of several faults at random, each time anew.
func AnyOf(faults ...Fault) Fault {
	return Fault{"any of these", func(f *Faulty, said []byte) []piece {
		return faults[f.random.IntN(len(faults))].harm(f, said)
	}}
}

// Seed makes what happens depend on the seed alone; without it the seed is 0.
func (f *Faulty) Seed(seed uint64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.random = rand.New(rand.NewPCG(seed, 0))
}

// Say sends b over the line, harmed or not. It returns at once.
func (f *Faulty) Say(b []byte) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.random == nil {
		f.random = rand.New(rand.NewPCG(0, 0))
	}
	f.said++
	pieces := []piece{{0, b}}
	if f.random.Float64() < f.Rate {
		f.harmed++
		pieces = f.Fault.harm(f, b)
	}
	now := time.Now()
	if f.free.Before(now) {
		f.free = now
	}
	for _, p := range pieces {
		f.free = f.free.Add(p.after + time.Duration(len(p.bytes))*f.Character)
		if wait := f.free.Sub(now); wait > 0 {
			f.Cable.SendAfter(wait, slices.Clone(p.bytes))
		} else {
			f.Cable.Send(p.bytes)
		}
		f.free = f.free.Add(1) // no two pieces at one instant: they keep their order
	}
}

// Harm sets what happens from now on.
func (f *Faulty) Harm(fault Fault, rate float64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.Fault, f.Rate = fault, rate
}

// Delay sets the longest delay of Delayed from now on.
func (f *Faulty) Delay(latest time.Duration) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.Latest = latest
}

// Counts says how often something was said, and how often that was harmed.
func (f *Faulty) Counts() (said, harmed int) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.said, f.harmed
}

func delayed(f *Faulty, said []byte) []piece {
	return []piece{{time.Duration(f.random.Int64N(int64(max(1, f.Latest)))), said}}
}

func truncated(f *Faulty, said []byte) []piece {
	return []piece{{0, said[:1+f.random.IntN(max(1, len(said)-1))]}}
}

func flipped(f *Faulty, said []byte) []piece {
	out := slices.Clone(said)
	for range 1 + f.random.IntN(4) {
		bit := f.random.IntN(8 * len(out))
		out[bit/8] ^= 1 << (bit % 8)
	}
	return []piece{{0, out}}
}

// interleaved mixes the bytes of two that talk at once.
func interleaved(f *Faulty, said []byte) []piece {
	other := f.Other(said)
	var out []byte
	for a, b := said, other; len(a)+len(b) > 0; {
		if f.random.IntN(len(a)+len(b)) < len(a) {
			out, a = append(out, a[0]), a[1:]
		} else {
			out, b = append(out, b[0]), b[1:]
		}
	}
	return []piece{{0, out}}
}

// dribbled hands on one to three bytes at a time, with pauses as adapters with
// a latency timer of 16 ms make them.
func dribbled(f *Faulty, said []byte) []piece {
	var out []piece
	for len(said) > 0 {
		n := min(len(said), 1+f.random.IntN(3))
		out = append(out, piece{time.Duration(f.random.Int64N(int64(16 * time.Millisecond))), said[:n]})
		said = said[n:]
	}
	return out
}

func stolen(f *Faulty, said []byte) []piece {
	from := f.random.IntN(len(said))
	until := from + 1 + f.random.IntN(len(said)-from)
	return []piece{{0, append(slices.Clone(said[:from]), said[until:]...)}}
}

func noisy(f *Faulty, said []byte) []piece {
	out := make([]byte, 1+f.random.IntN(20))
	for i := range out {
		out[i] = byte(f.random.Uint32())
	}
	return []piece{{0, append(out, said...)}}
}

func misheard(f *Faulty, said []byte) []piece {
	rates := []int{2400, 4800, 9600, 14400, 38400, 57600, 115200}
	return []piece{{0, Resample(said, 19200, rates[f.random.IntN(len(rates))])}}
}

// Resample returns what a receiver at another rate makes of characters of
// eight bits without parity: as many as it sees start bits, whatever stands
// where it looks for the stop bit.
func Resample(said []byte, baud, heardAt int) []byte {
	var levels []bool // of the line, one a bit; idle is high
	for _, b := range said {
		levels = append(levels, false)
		for bit := range 8 {
			levels = append(levels, b>>bit&1 == 1)
		}
		levels = append(levels, true)
	}
	step := float64(baud) / float64(heardAt) // of the sender's bits a receiver's bit
	at := func(x float64) bool { return int(x) >= len(levels) || levels[int(x)] }
	var heard []byte
	// A start bit is an edge down; the receiver looks sixteen times a bit.
	for x, before := 0.0, true; x < float64(len(levels)); x += step / 16 {
		now := at(x)
		if before && !now {
			var b byte
			for bit := range 8 {
				if at(x + (float64(bit)+1.5)*step) {
					b |= 1 << bit
				}
			}
			heard = append(heard, b)
			x += 9.5 * step
			now = at(x)
		}
		before = now
	}
	return heard
}
