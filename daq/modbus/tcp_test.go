package modbus_test

import (
	"context"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// over is a client of a connection in memory whose far end a test plays.
type over struct {
	client *modbus.TCPClient
	cable  *daqtest.Cable
	port   *link.Port
	heard  []modbus.Message
}

// answer is what the far end does with the nth request, from 0.
func overTCP(t *testing.T, answer func(x *over, n int, m modbus.Message), test func(t *testing.T, x *over)) {
	synctest.Test(t, func(t *testing.T) {
		x := &over{cable: &daqtest.Cable{}}
		x.cable.Heard = func(b []byte) {
			m, rest, err := modbus.NextMessage(b)
			require.NoError(t, err)
			require.Empty(t, rest)
			x.heard = append(x.heard, m)
			answer(x, len(x.heard)-1, m)
		}
		x.port = x.cable.Port(t, link.Config{Port: "tcp://memory:502", Timeout: deadline})
		x.client = modbus.NewTCPClient(x.port, daq.NewWallClock())
		test(t, x)
	})
}

func reply(m modbus.Message, values ...uint16) []byte {
	r, err := m.Request()
	if err != nil {
		panic(err)
	}
	return r.ReplyMessage(m.Transaction, values)
}

func TestMessagesAreMatchedByTransaction(t *testing.T) {
	stale := ask
	overTCP(t, func(x *over, n int, m modbus.Message) {
		x.cable.Send(stale.ReplyMessage(m.Transaction+100, []uint16{9, 9})) // nobody's
		answer := reply(m, uint16(n), 2)
		for i := range answer { // in pieces
			x.cable.SendAfter(time.Duration(i+1)*time.Millisecond, answer[i:i+1])
		}
	}, func(t *testing.T, x *over) {
		for n := range 3 {
			got, err := x.client.Read(t.Context(), ask)
			require.NoError(t, err)
			assert.Equal(t, []uint16{uint16(n), 2}, got)
		}
		assert.Equal(t, modbus.Counts{Requests: 3, Answers: 3, Foreign: 3}, x.client.Counts())
		assert.NotEqual(t, x.heard[0].Transaction, x.heard[1].Transaction)
	})
}

func TestLateMessageIsDropped(t *testing.T) {
	overTCP(t, func(x *over, n int, m modbus.Message) {
		if n == 0 {
			x.cable.SendAfter(deadline+10*time.Millisecond, reply(m, 1, 1))
			return
		}
		x.cable.SendAfter(30*time.Millisecond, reply(m, 2, 2))
	}, func(t *testing.T, x *over) {
		_, err := x.client.Read(t.Context(), ask)
		require.ErrorIs(t, err, modbus.ErrNoAnswer)
		require.ErrorIs(t, err, link.ErrTimeout)
		began := time.Now()
		got, err := x.client.Read(t.Context(), ask)
		require.NoError(t, err)
		assert.Equal(t, []uint16{2, 2}, got)
		assert.Equal(t, 30*time.Millisecond, time.Since(began), "nothing is waited for")
		assert.Equal(t, modbus.Counts{Requests: 2, Answers: 1, Silent: 1, Late: 1}, x.client.Counts())
	})
}

func TestDoubledMessageIsDropped(t *testing.T) {
	overTCP(t, func(x *over, n int, m modbus.Message) {
		answer := reply(m, uint16(n), 0)
		x.cable.Send(append(answer, answer...))
	}, func(t *testing.T, x *over) {
		for n := range 3 {
			got, err := x.client.Read(t.Context(), ask)
			require.NoError(t, err)
			assert.Equal(t, []uint16{uint16(n), 0}, got)
		}
		assert.Equal(t, 2, x.client.Counts().Doubled)
	})
}

func TestMessageOfAnotherUnitIsNoAnswer(t *testing.T) {
	other := ask
	other.Address = 18
	overTCP(t, func(x *over, n int, m modbus.Message) {
		x.cable.Send(other.ReplyMessage(m.Transaction, []uint16{1, 2}))
	}, func(t *testing.T, x *over) {
		_, err := x.client.Read(t.Context(), ask)
		require.ErrorIs(t, err, modbus.ErrForeign)
		// A server that needs no unit identifier may answer under any.
		r := ask
		r.Address = modbus.NoUnit
		got, err := x.client.Read(t.Context(), r)
		require.NoError(t, err)
		assert.Equal(t, []uint16{1, 2}, got)
	})
}

func TestGarbageOverTCPMakesANewConnection(t *testing.T) {
	garbage := true
	overTCP(t, func(x *over, n int, m modbus.Message) {
		if garbage {
			x.cable.Send([]byte("HTTP/1.1 400 Bad Request\r\n\r\n"))
			return
		}
		x.cable.Send(reply(m, 5, 6))
	}, func(t *testing.T, x *over) {
		began := time.Now()
		_, err := x.client.Read(t.Context(), ask)
		require.ErrorIs(t, err, modbus.ErrNotMBAP)
		require.ErrorIs(t, err, link.ErrTimeout)
		assert.Zero(t, time.Since(began))
		garbage = false
		got, err := x.client.Read(t.Context(), ask)
		require.NoError(t, err)
		assert.Equal(t, []uint16{5, 6}, got)
	})
}

func TestHalfAMessageIsNotCarriedIntoTheNextConnection(t *testing.T) {
	overTCP(t, func(x *over, n int, m modbus.Message) {
		if n == 0 {
			x.cable.Send(reply(m, 1, 1)[:9])
			return
		}
		x.cable.Send(reply(m, 5, 6))
	}, func(t *testing.T, x *over) {
		_, err := x.client.Read(t.Context(), ask)
		require.ErrorIs(t, err, modbus.ErrGarbled)
		assert.Equal(t, 1, x.client.Counts().Short)
		x.cable.Pull()
		_, err = x.client.Read(t.Context(), ask)
		require.ErrorIs(t, err, link.ErrGone)
		x.cable.Plug()
		require.NoError(t, x.port.Reopen())
		got, err := x.client.Read(t.Context(), ask)
		require.NoError(t, err)
		assert.Equal(t, []uint16{5, 6}, got)
	})
}

// Two instruments of one gateway, one of which is switched off.
func TestUnitsBehindOneConnection(t *testing.T) {
	overTCP(t, func(x *over, n int, m modbus.Message) {
		r, err := m.Request()
		if err != nil || m.Unit == 2 {
			x.cable.Send(r.RefusalMessage(m.Transaction, modbus.GatewayNoResponse))
			return
		}
		x.cable.Send(reply(m, 7))
	}, func(t *testing.T, x *over) {
		points := []modbus.Point{{Function: modbus.ReadHolding, Register: 3, Format: modbus.Format{Type: modbus.Uint16}}}
		one, two := modbus.NewInstrument(x.client, 1, points), modbus.NewInstrument(x.client, 2, points)
		dst := make([]daq.Signal, 1)
		require.NoError(t, one.Sample(t.Context(), dst))
		assert.Equal(t, []daq.Signal{{Raw: 7}}, dst)
		require.EqualError(t, two.Sample(t.Context(), dst),
			"address 2, function 3, register 3 (number 40004): exception 11, gateway target device failed to respond")
	})
}

func TestInstrumentOverTCPKeepsTheContract(t *testing.T) {
	daqtest.Instrument(t, func(t *testing.T, cable *daqtest.Cable, port *link.Port) daqtest.Device {
		f := newFar(cable)
		f.tcp = true
		return daqtest.Device{
			Instrument: modbus.NewInstrument(modbus.NewTCPClient(port, daq.NewWallClock()), 17, points),
			Values:     []float64{21.5, -40, -1234},
			Say:        f.say,
			Mute:       func() { f.mute = true },
		}
	})
}

// One exchange waits for the other, whoever asks.
func TestAskingFromTwoSides(t *testing.T) {
	client, server := net.Pipe()
	defer func() { require.NoError(t, server.Close()) }()
	go func() {
		b := make([]byte, 12)
		for {
			if _, err := server.Read(b); err != nil {
				return
			}
			m, _, err := modbus.NextMessage(b)
			if err != nil {
				return
			}
			if _, err := server.Write(reply(m, m.Transaction)); err != nil {
				return
			}
		}
	}()
	port := link.Over(link.Config{Port: "pipe", Timeout: time.Second}, link.Options{}, func() (link.Conn, error) { return client, nil })
	require.NoError(t, port.Reopen())
	defer func() { require.NoError(t, port.Close()) }()
	c := modbus.NewTCPClient(port, daq.NewWallClock())
	done := make(chan error, 2)
	for range 2 {
		go func() {
			var err error
			for range 50 {
				if err == nil {
					_, err = c.Do(context.Background(), modbus.Request{Address: 1, Function: 3, Count: 1})
				}
			}
			done <- err
		}()
	}
	require.NoError(t, <-done)
	require.NoError(t, <-done)
	assert.Equal(t, modbus.Counts{Requests: 100, Answers: 100}, c.Counts())
}
