//go:build linux || darwin

package modbus_test

import (
	"context"
	"fmt"
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// TestPollThroughAPacedTerminal polls a slave behind a pseudo-terminal that
// is as slow as the real line, and says what share of the possible rate of
// exchanges is reached. It cannot be more than all of it; how much less hangs
// on the machine, so only a gross loss fails.
func TestPollThroughAPacedTerminal(t *testing.T) {
	for _, c := range []struct{ baud, piece int }{{9600, 1}, {19200, 1}, {19200, 5}, {115200, 3}} {
		t.Run(fmt.Sprintf("%d bit/s, pieces of %d", c.baud, c.piece), func(t *testing.T) {
			pacing := daqtest.Pacing{Baud: c.baud, ReplyDelay: 5 * time.Millisecond, Piece: c.piece}
			path, master := daqtest.PTY(t)
			slave, far := net.Pipe()
			t.Cleanup(func() {
				require.NoError(t, slave.Close())
				require.NoError(t, far.Close())
			})
			registers := map[uint16]uint16{8: 0x47F1, 9: 0x2000, 10: 0xFF38}
			go daqtest.Slave{Address: 17, Registers: registers}.Serve(slave)

			port, err := link.Open(link.Config{Port: path, Baud: c.baud, Parity: "even", Timeout: 5 * time.Second}, link.Options{})
			require.NoError(t, err)
			defer func() { require.NoError(t, port.Close()) }()
			daqtest.Pace(master, far, pacing)

			client := modbus.NewClient(port, daq.NewWallClock())
			in := modbus.NewInstrument(client, 17, []modbus.Point{
				{Function: modbus.ReadInput, Register: 8, Format: modbus.Format{Type: modbus.Float32}},
				{Function: modbus.ReadInput, Register: 10, Format: modbus.Format{Type: modbus.Int16}},
			})
			const exchanges = 25
			dst := make([]daq.Signal, 2)
			began := time.Now()
			for range exchanges {
				require.NoError(t, in.Sample(t.Context(), dst))
				require.Equal(t, []daq.Signal{{Raw: 123456}, {Raw: -200}}, dst)
			}
			took := time.Since(began) / exchanges

			characters := 8 + modbus.Request{Count: 3}.ReplyLength()
			least := time.Duration(characters)*pacing.Character() + pacing.ReplyDelay + link.SilentInterval(c.baud, 11)
			share := float64(least) / float64(took)
			t.Logf("%d characters: %.1f exchanges/s of %.1f possible, %.1f %%", characters,
				1/took.Seconds(), 1/least.Seconds(), 100*share)
			// The first exchange has no silent interval before it, and timers
			// are no better than a fraction of a millisecond; a silent
			// interval that is not kept shows as 1.1 and more.
			assert.LessOrEqual(t, share, 1.03, "the pacer or the silent interval is not kept")
			assert.Greater(t, share, 0.1)
			assert.Equal(t, modbus.Counts{Requests: exchanges, Answers: exchanges}, client.Counts())
		})
	}
}

// BenchmarkExchangeOverABareTerminal is what the program itself costs: the
// terminal has no baud and the slave answers at once.
func BenchmarkExchangeOverABareTerminal(b *testing.B) {
	path, master := daqtest.PTY(b)
	go daqtest.Slave{Address: 17, Registers: map[uint16]uint16{8: 1, 9: 2}}.Serve(master)
	port, err := link.Open(link.Config{Port: path, Baud: 115200, Timeout: time.Second}, link.Options{})
	require.NoError(b, err)
	defer func() { require.NoError(b, port.Close()) }()
	client := modbus.NewClient(port, patient{daq.NewWallClock()})
	for b.Loop() {
		_, err := client.Read(b.Context(), ask)
		require.NoError(b, err)
	}
}

// patient is a clock on which sleeping costs no time, as in lock-step.
type patient struct{ daq.Clock }

func (patient) Sleep(context.Context, time.Duration) error { return nil }
