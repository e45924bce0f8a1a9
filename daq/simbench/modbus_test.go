package simbench

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/modbus"
)

// everyPlace is a bench whose channels all show the air's pressure, each in
// another way, over RTU and over TCP, two units behind one connection.
func everyPlace(t testing.TB) *bench.Bench {
	t.Helper()
	var text strings.Builder
	text.WriteString(`
name = "Every place"
[ambient]
pressure = "1000 ± 1 mbar"
[[link]]
name = "rs485"
port = "unused-1"
baud = 115200
timeout = "2 s"
[[link]]
name = "plant"
port = "tcp://10.0.0.7:502"
timeout = "2 s"
[[instrument]]
name = "rtu"
kind = "modbus-rtu"
link = "rs485"
address = 1
interval = "0.5 s"
[[instrument]]
name = "tcp"
kind = "modbus-tcp"
link = "plant"
interval = "0.5 s"
[[instrument]]
name = "unit"
kind = "modbus-tcp"
link = "plant"
address = 3
bridge = 10
interval = "0.5 s"
`)
	for i, place := range []string{
		`number = 40001; type = "int16"; raw_scale = 0.1`,
		`number = 40002; type = "uint16"; raw_scale = 0.1; byte_order = "low-first"`,
		`number = 40003; type = "int32"; word_order = "low-first"; raw_scale = 0.001`,
		`number = 40005; type = "uint32"; word_order = "high-first"; raw_scale = 0.001; raw_offset = 500`,
		`number = 300001; type = "float32"; word_order = "low-first"; byte_order = "low-first"`,
		`number = 300003; type = "float64"; word_order = "low-first"`,
		`number = 300009; type = "uint16"; bits = [4, 12]`,
		`function = 3; register = 40; type = "uint32"; word_order = "high-first"; bits = [5, 20]; raw_scale = 0.01`,
	} {
		for _, instrument := range []string{"rtu", "tcp", "unit"} {
			fmt.Fprintf(&text, "[[channel]]\nname = \"%s-%d\"\nquantity = \"pressure\"\nreference = \"absolute\"\nraw_unit = \"mbar\"\ninstrument = %q\n%s\n",
				instrument, i, instrument, strings.ReplaceAll(place, "; ", "\n"))
		}
	}
	b, err := bench.Parse("bench.toml", []byte(text.String()))
	require.NoError(t, err)
	return b
}

// L: what the program makes of a reading is what is there, whichever way it
// is written, by RTU and TCP, on pseudo-terminals and ports of the loopback.
func TestEveryTypeAndOrderArrives(t *testing.T) {
	for _, tcp := range []bool{false, true} {
		b := everyPlace(t)
		s := watch(t, b, 1, ServeOptions{TCP: tcp}, 3*time.Second, func(s *visit, second int) {
			truth := DefaultTruth(b)
			truth.Sensors = Sensors{}
			s.rig.Mount(truth)
		})
		assert.Empty(t, s.gaps)
		for _, c := range b.Channels {
			_, values := s.column(t, c.Name)
			require.NotEmpty(t, values, c.Name)
			assert.InDelta(t, 0, values[len(values)-1], 51, c.Name) // Pa gauge, half a step of the coarsest, 1 mbar
		}
	}
}

func TestModulesOfEveryFunction(t *testing.T) {
	text := "outputs = true\n" + everyKind + `
[[output]]
name = "pump"
role = "pump"
instrument = "one"
number = 4
[[output]]
name = "vent"
role = "vent"
instrument = "one"
number = 40021
on_value = 170
off_value = 85
[[output]]
name = "lock"
role = "lock"
instrument = "one"
number = 40022
bits = [4, 1]
`
	b, err := bench.Parse("bench.toml", []byte(text))
	require.NoError(t, err)
	r, err := New(b, NewLockStep(morning), 1)
	require.NoError(t, err)
	line, plant := newBus(), newBus()
	plant.tcp = true
	for _, in := range b.Instruments {
		if in.Kind == bench.ModbusRTU {
			line.add(newModule(r, in))
			plant.add(newModule(r, in))
		}
	}
	transaction := uint16(0)
	do := func(q modbus.Request) ([]uint16, error) {
		q.Address = 1
		replies := ask(line, q)
		require.Len(t, replies, 1)
		values, err := q.Parse(replies[0])
		transaction++
		replies = plant.take(q.Message(transaction), time.Now())
		require.Len(t, replies, 1)
		m, rest, bad := modbus.NextMessage(replies[0])
		require.NoError(t, bad)
		require.Empty(t, rest)
		require.Equal(t, transaction, m.Transaction)
		again, err2 := q.ParseMessage(m)
		require.Equal(t, err, err2)
		require.Equal(t, values, again)
		return values, err
	}
	read := func(function byte, start, count uint16) []uint16 {
		values, err := do(modbus.Request{Function: function, Start: start, Count: count})
		require.NoError(t, err)
		return values
	}
	assert.Equal(t, []uint16{0}, read(modbus.ReadCoils, 3, 1))
	assert.Equal(t, []uint16{85, 0}, read(modbus.ReadHolding, 20, 2), "everything is off")
	assert.Equal(t, []bool{false, false, false}, r.Switched())
	for _, q := range []modbus.Request{
		modbus.Write(1, modbus.WriteCoil, 3, 1), modbus.Write(1, modbus.WriteRegisters, 20, 170, 0x10),
	} {
		_, err := do(q)
		require.NoError(t, err)
	}
	assert.Equal(t, []uint16{1}, read(modbus.ReadCoils, 3, 1))
	assert.Equal(t, []uint16{170, 0x10}, read(modbus.ReadHolding, 20, 2))
	assert.Equal(t, []bool{true, true, true}, r.Switched())
	_, err = do(modbus.Write(1, modbus.WriteCoils, 3, 0))
	require.NoError(t, err)
	_, err = do(modbus.Write(1, modbus.WriteRegister, 20, 12))
	require.NoError(t, err)
	assert.Equal(t, []bool{false, false, true}, r.Switched())

	for _, c := range []struct {
		q    modbus.Request
		want modbus.Exception
	}{
		{modbus.Write(1, modbus.WriteCoil, 4, 1), modbus.IllegalAddress},
		{modbus.Write(1, modbus.WriteRegisters, 21, 1, 2), modbus.IllegalAddress},
		{modbus.Request{Function: modbus.ReadDiscrete, Count: 1}, modbus.IllegalAddress},
		{modbus.Request{Function: modbus.ReadCoils, Count: 2001}, modbus.IllegalValue},
	} {
		_, err := do(c.q)
		var x modbus.Exception
		require.ErrorAs(t, err, &x)
		assert.Equal(t, c.want, x)
	}
	assert.Equal(t, []uint16{0x10}, read(modbus.ReadHolding, 21, 1), "all of a write or nothing")
	replies := plant.take(modbus.Request{Address: 99, Function: 3, Count: 1}.Message(9), time.Now())
	assert.Equal(t, [][]byte{modbus.Request{Address: 99, Function: 3}.RefusalMessage(9, modbus.GatewayNoResponse)}, replies)
}
