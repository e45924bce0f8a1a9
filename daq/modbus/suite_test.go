package modbus_test

import (
	"math"
	"testing"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// points has one of each type, and a hole in the registers.
var points = []modbus.Point{
	{Function: modbus.ReadInput, Register: 2, Format: modbus.Format{Type: modbus.Float32}},
	{Function: modbus.ReadInput, Register: 0, Format: modbus.Format{Type: modbus.Float32, LowWordFirst: true}},
	{Function: modbus.ReadInput, Register: 9, Format: modbus.Format{Type: modbus.Int16}},
}

// far plays the slave at the other end of a cable.
type far struct {
	daqtest.Slave
	tcp      bool
	mute     bool
	requests int
}

func newFar(cable *daqtest.Cable) *far {
	f := &far{Slave: daqtest.Slave{Address: 17, Registers: map[uint16]uint16{}}, mute: true}
	cable.Heard = func(b []byte) {
		f.requests++
		switch {
		case f.mute:
		case f.tcp:
			cable.Send(f.AnswerMessage(b))
		default:
			cable.Send(f.Answer(b))
		}
	}
	return f
}

func (f *far) say(values []float64) {
	f.mute = false
	set := func(register uint16, high, low uint16) { f.Registers[register], f.Registers[register+1] = high, low }
	bits := func(x float64) (high, low uint16) {
		b := math.Float32bits(float32(x))
		return uint16(b >> 16), uint16(b)
	}
	high, low := bits(values[0])
	set(2, high, low)
	high, low = bits(values[1])
	set(0, low, high)
	f.Registers[9] = uint16(int16(values[2]))
}

func TestInstrumentKeepsTheContract(t *testing.T) {
	daqtest.Instrument(t, func(t *testing.T, cable *daqtest.Cable, port *link.Port) daqtest.Device {
		f := newFar(cable)
		clock := daq.NewWallClock()
		client := modbus.NewClient(port, clock)
		in := modbus.NewInstrument(client, 17, points)
		values := []float64{21.5, -40, -1234}
		return daqtest.Device{
			Instrument: in,
			Values:     values,
			Say:        f.say,
			Mute:       func() { f.mute = true },
			Sick: map[daq.Health]func(){daq.Invalid: func() {
				f.say([]float64{math.NaN(), values[1], values[2]})
			}},
			Stamp: in.Stamp, Clock: clock,
			Counted: func() int { n := client.Counts(); return n.Stray + n.Garbled },
		}
	})
}
