package bench

import (
	"bytes"
	"context"
	"fmt"
	"testing"
	"time"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/strict"
)

// gauge is an instrument of an invented kind. It is asked with "?" and a
// number, and answers "!", the same number, its reading in hundredths as two
// bytes, and these two again with every bit turned round.
type gauge struct {
	port  *link.Port
	clock daq.Clock
	asked byte
	stamp time.Duration
}

var _ daq.Instrument = (*gauge)(nil)

// Sample does one exchange.
func (g *gauge) Sample(ctx context.Context, dst []daq.Signal) error {
	defer g.port.Done() // all bytes were dealt with
	if g.port.Discard() > 0 {
		g.port.Judge("thrown away: nothing was asked")
	}
	g.asked++
	deadline := time.Now().Add(g.port.Timeout())
	if err := g.port.Write(ctx, []byte{'?', g.asked}, deadline); err != nil {
		return err
	}
	var heard []byte
	var piece [64]byte
	for {
		n, err := g.port.Read(ctx, piece[:], deadline)
		heard = append(heard, piece[:n]...)
		if hundredths, ok := gaugeAnswer(heard, g.asked); ok {
			g.stamp = g.clock.Now() - 6*g.port.Config().CharacterTime()
			g.port.Judge("answer")
			dst[0] = daq.Signal{Raw: float64(hundredths) / 100}
			return nil
		}
		if err != nil {
			if len(heard) > 0 {
				g.port.Judge("no answer among the bytes")
			}
			return err
		}
	}
}

// Stamp is when the last answer began.
func (g *gauge) Stamp() time.Duration { return g.stamp }

// gaugeAnswer is the pure half: bytes in, a number out.
func gaugeAnswer(heard []byte, asked byte) (hundredths int16, ok bool) {
	for {
		at := bytes.IndexByte(heard, '!')
		if at < 0 || len(heard) < at+6 {
			return 0, false
		}
		a := heard[at : at+6]
		if a[1] == asked && a[4] == ^a[2] && a[5] == ^a[3] {
			return int16(a[2])<<8 | int16(a[3]), true
		}
		heard = heard[at+1:]
	}
}

// gaugeKind is its row for the table in kinds.go.
var gaugeKind = kind{
	name:  "gauge",
	place: func(*Channel, Instrument, *strict.Table) {}, // it has one channel, and no keys
	same: func(Channel, Channel) (key, found, want string) {
		return "instrument", ", which has one channel", "an instrument of its own"
	},
	open: func(s *daq.Source, w *wire, _ Instrument, _ []Channel) {
		g := &gauge{port: w.port, clock: w.clock}
		s.Instrument, s.Stamp = g, g.Stamp
	},
}

// playGauge is the far end: it answers with what say returns, in hundredths.
func playGauge(cable *daqtest.Cable, say func() (hundredths int16, ok bool)) {
	cable.Heard = func(asked []byte) {
		if h, ok := say(); ok {
			high, low := byte(h>>8), byte(h)
			cable.Send([]byte{'!', asked[1], high, low, ^high, ^low})
		}
	}
}

// A new kind of instrument is one small interface and one row of the table.
func Example_newKind() {
	kinds = append(kinds, gaugeKind) // stands in the table itself
	defer func() { kinds = kinds[:len(kinds)-1] }()

	b, err := Parse("bench.toml", []byte(`
name = "example"
[[link]]
name = "line"
port = "COM7"
baud = 9600
[[instrument]]
name = "tank"
kind = "gauge"
link = "line"
interval = "0.1 s"
[[channel]]
name = "trapped_a"
quantity = "pressure"
instrument = "tank"
raw_unit = "bar"
range = ["0 bar", "250 bar"]
reference = "gauge"
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "trapped_a"
feed = "unmeasured"
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	cable := &daqtest.Cable{}
	playGauge(cable, func() (int16, bool) { return 10125, true })
	clock := daq.NewWallClock()
	w, err := b.Wire(clock, WireOptions{Dial: func(string) (link.Conn, error) { return cable.Dial() }})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer w.Close()
	probes, err := w.Probe(context.Background(), clock, 300*time.Millisecond)
	if err != nil {
		fmt.Println(err)
		return
	}
	r := probes[0].Scans[0].Readings[0]
	fmt.Printf("%s %.0f Pa, %s\n", w.Channels[r.Channel].Name, r.Value, r.Health)
	// Output:
	// trapped_a 10125000 Pa, ok
}

// Its acceptance.
func TestGaugeKeepsTheContract(t *testing.T) {
	daqtest.Instrument(t, func(t *testing.T, cable *daqtest.Cable, port *link.Port) daqtest.Device {
		clock := daq.NewWallClock()
		g := &gauge{port: port, clock: clock}
		value, mute := 0.0, true
		playGauge(cable, func() (int16, bool) { return int16(100 * value), !mute })
		return daqtest.Device{
			Instrument: g, Stamp: g.Stamp, Clock: clock,
			Values: []float64{101.25},
			Say:    func(v []float64) { value, mute = v[0], false },
			Mute:   func() { mute = true },
		}
	})
}
