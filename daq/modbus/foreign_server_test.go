package modbus_test

import (
	"errors"
	"io"
	"log"
	"net"
	"sync"
	"testing"
	"time"

	other "github.com/simonvetter/modbus"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// memory is what the server of another library serves: unit 1 has a hundred
// of everything, unit 9 is broken, others are not there.
type memory struct {
	mu        sync.Mutex
	coils     [100]bool
	registers [100]uint16
}

func (m *memory) at(unit uint8, first, count uint16) error {
	switch {
	case unit == 9:
		return other.ErrServerDeviceFailure
	case unit != 1 && unit != modbus.NoUnit:
		return other.ErrGWTargetFailedToRespond
	case int(first)+int(count) > 100:
		return other.ErrIllegalDataAddress
	}
	return nil
}

func (m *memory) HandleCoils(r *other.CoilsRequest) ([]bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.at(r.UnitId, r.Addr, r.Quantity); err != nil {
		return nil, err
	}
	if r.IsWrite {
		copy(m.coils[r.Addr:], r.Args)
	}
	return m.coils[r.Addr : r.Addr+r.Quantity], nil
}

func (m *memory) HandleDiscreteInputs(r *other.DiscreteInputsRequest) ([]bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.coils[r.Addr : r.Addr+r.Quantity], m.at(r.UnitId, r.Addr, r.Quantity)
}

func (m *memory) HandleHoldingRegisters(r *other.HoldingRegistersRequest) ([]uint16, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.at(r.UnitId, r.Addr, r.Quantity); err != nil {
		return nil, err
	}
	if r.IsWrite {
		copy(m.registers[r.Addr:], r.Args)
	}
	return m.registers[r.Addr : r.Addr+r.Quantity], nil
}

func (m *memory) HandleInputRegisters(r *other.InputRegistersRequest) ([]uint16, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.at(r.UnitId, r.Addr, r.Quantity); err != nil {
		return nil, err
	}
	return m.registers[r.Addr : r.Addr+r.Quantity], nil
}

// otherServer serves memory by a library that others wrote.
func otherServer(t *testing.T, m *memory) *modbus.TCPClient {
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address := "tcp://" + free.Addr().String()
	require.NoError(t, free.Close())
	server, err := other.NewServer(&other.ServerConfiguration{URL: address, Logger: log.New(io.Discard, "", 0)}, m)
	require.NoError(t, err)
	require.NoError(t, server.Start())
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	port, err := link.Open(link.Config{Port: address, Timeout: 5 * time.Second}, link.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, port.Close()) })
	return modbus.NewTCPClient(port, daq.NewWallClock())
}

// C: github.com/simonvetter/modbus v1.6.4 as the server: every function, the
// exceptions, several units.
func TestEveryFunctionAgainstAServerOfOthers(t *testing.T) {
	m := &memory{}
	c := otherServer(t, m)
	do := func(r modbus.Request) []uint16 {
		t.Helper()
		a, err := c.Do(t.Context(), r)
		require.NoError(t, err)
		return a.Values
	}
	do(modbus.Write(1, modbus.WriteCoil, 3, 1))
	do(modbus.Write(1, modbus.WriteCoils, 10, 1, 0, 1, 1, 0, 0, 0, 0, 1))
	do(modbus.Write(1, modbus.WriteRegister, 5, 0xABCD))
	do(modbus.Write(1, modbus.WriteRegisters, 20, 1, 2, 3))
	assert.True(t, m.coils[3])
	assert.Equal(t, []bool{true, false, true, true, false, false, false, false, true, false}, m.coils[10:20])
	assert.Equal(t, uint16(0xABCD), m.registers[5])
	assert.Equal(t, []uint16{1, 2, 3, 0}, m.registers[20:24])

	assert.Equal(t, []uint16{1, 0, 1, 1, 0, 0, 0, 0, 1, 0}, do(modbus.Request{Address: 1, Function: modbus.ReadCoils, Start: 10, Count: 10}))
	assert.Equal(t, []uint16{0, 0, 0, 1}, do(modbus.Request{Address: 1, Function: modbus.ReadDiscrete, Count: 4}))
	assert.Equal(t, []uint16{0xABCD}, do(modbus.Request{Address: 1, Function: modbus.ReadHolding, Start: 5, Count: 1}))
	assert.Equal(t, []uint16{1, 2, 3}, do(modbus.Request{Address: modbus.NoUnit, Function: modbus.ReadInput, Start: 20, Count: 3}))

	for want, r := range map[modbus.Exception]modbus.Request{
		modbus.IllegalAddress:    {Address: 1, Function: modbus.ReadHolding, Start: 99, Count: 2},
		modbus.DeviceFailure:     {Address: 9, Function: modbus.ReadHolding, Count: 2},
		modbus.GatewayNoResponse: {Address: 2, Function: modbus.ReadCoils, Count: 2},
	} {
		_, err := c.Do(t.Context(), r)
		var x modbus.Exception
		require.True(t, errors.As(err, &x), "%v", err)
		assert.Equal(t, want, x)
	}
	assert.Equal(t, modbus.Counts{Requests: 11, Answers: 11, Exceptions: 3}, c.Counts())
}

// C: the same server: numbers as that library's own client would write them,
// in both orders of words, and an output driven and read back.
func TestInstrumentAgainstAServerOfOthers(t *testing.T) {
	m := &memory{}
	c := otherServer(t, m)
	// 123456 is 47F1 2000 (testdata, word-order.csv).
	copy(m.registers[0:], []uint16{0x47F1, 0x2000, 0x2000, 0x47F1, 0xFF38})
	m.coils[7] = true
	in := modbus.NewInstrument(c, 1, []modbus.Point{
		{Function: modbus.ReadHolding, Register: 0, Format: modbus.Format{Type: modbus.Float32}},
		{Function: modbus.ReadHolding, Register: 2, Format: modbus.Format{Type: modbus.Float32, LowWordFirst: true}},
		{Function: modbus.ReadInput, Register: 4, Format: modbus.Format{Type: modbus.Int16}},
		{Function: modbus.ReadCoils, Register: 7},
	})
	dst := make([]daq.Signal, 4)
	require.NoError(t, in.Sample(t.Context(), dst))
	assert.Equal(t, []daq.Signal{{Raw: 123456}, {Raw: 123456}, {Raw: -200}, {Raw: 1}}, dst)

	out := modbus.NewOutputs(c, 1, []modbus.Output{{Function: modbus.WriteCoil, Register: 8}})
	require.NoError(t, out.Drive(t.Context(), 0, true))
	assert.True(t, m.coils[8])
}
