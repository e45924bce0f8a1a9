package daqtest

import (
	"context"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/link"
)

// Device is an instrument under test and the hand on its far end.
type Device struct {
	Instrument daq.Instrument
	// Values has as many numbers as the instrument has channels; Say is given
	// such lists. They must survive the instrument's own number format.
	Values []float64
	// Say makes the far end say these values: at the next request, or as the
	// next line.
	Say func(values []float64)
	// Mute makes the far end say nothing until it is told to.
	Mute func()
}

// timeout of one exchange in the suite, in the bubble's time.
const timeout = 300 * time.Millisecond

// Instrument checks what every kind of instrument must do. open is given a
// cable and an open port on it; the far end begins mute.
func Instrument(t *testing.T, open func(t *testing.T, cable *Cable, port *link.Port) Device) {
	for name, check := range contract {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				cable := &Cable{}
				port := cable.Port(t, link.Config{Name: "under test", Port: "memory", Baud: 9600, Timeout: timeout})
				d := open(t, cable, port)
				check(t, bench{Device: d, cable: cable, port: port})
			})
		})
	}
}

// bench is a device on its cable.
type bench struct {
	Device
	cable *Cable
	port  *link.Port
}

// sample asks once. What comes without an error is healthy.
func (b bench) sample(t *testing.T) ([]float64, error) {
	dst := make([]daq.Signal, len(b.Values))
	if err := b.Instrument.Sample(t.Context(), dst); err != nil {
		return nil, err
	}
	raw := make([]float64, len(dst))
	for i, s := range dst {
		require.Equal(t, daq.Healthy, s.Health, "channel %d", i)
		raw[i] = s.Raw
	}
	return raw, nil
}

// arrives says values until they are read; nothing else may be read.
func (b bench) arrives(t *testing.T, values []float64) {
	const tries = 4
	for range tries {
		b.Say(values)
		got, err := b.sample(t)
		if err == nil {
			require.Equal(t, values, got)
			return
		}
		require.ErrorIs(t, err, link.ErrTimeout)
	}
	t.Fatalf("nothing was read in %d tries", tries)
}

// other is the values, changed so that old and new can be told apart.
func (b bench) other() []float64 {
	out := make([]float64, len(b.Values))
	for i, v := range b.Values {
		out[i] = v + 1
	}
	return out
}

// contract is what an instrument must do, by what is said of it.
var contract = map[string]func(t *testing.T, b bench){
	"reads what is said": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		b.arrives(t, b.other())
	},
	"fails in time when nothing is said": func(t *testing.T, b bench) {
		b.Mute()
		began := time.Now()
		_, err := b.sample(t)
		require.ErrorIs(t, err, link.ErrTimeout)
		assert.Less(t, time.Since(began), 10*timeout)
	},
	"comes back after silence": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		b.Mute()
		_, err := b.sample(t)
		require.ErrorIs(t, err, link.ErrTimeout)
		b.arrives(t, b.other())
	},
	"makes no reading of noise": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		b.Mute()
		for seed := range 20 {
			b.cable.Send(noise(seed))
			_, err := b.sample(t)
			require.ErrorIs(t, err, link.ErrTimeout)
		}
		b.cable.Send([]byte("\x00\xff\r\n"))
		b.arrives(t, b.other())
	},
	"says that the port is gone": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		b.cable.Pull()
		_, err := b.sample(t)
		require.ErrorIs(t, err, link.ErrGone)
		require.Error(t, b.port.Reopen())
		_, err = b.sample(t)
		require.ErrorIs(t, err, link.ErrGone)
		b.cable.Plug()
		require.NoError(t, b.port.Reopen())
		b.arrives(t, b.other())
	},
	"stops waiting when told to": func(t *testing.T, b bench) {
		b.Mute()
		ctx, cancel := context.WithTimeout(t.Context(), timeout/10)
		defer cancel()
		began := time.Now()
		err := b.Instrument.Sample(ctx, make([]daq.Signal, len(b.Values)))
		require.ErrorIs(t, err, context.DeadlineExceeded)
		assert.Equal(t, timeout/10, time.Since(began))
	},
	"says of every byte that it was dealt with": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		b.Mute()
		_, err := b.sample(t)
		require.ErrorIs(t, err, link.ErrTimeout)
		before := b.cable.Taken
		sent := noise(1)
		b.cable.Send(sent)
		_, err = b.sample(t)
		require.ErrorIs(t, err, link.ErrTimeout)
		assert.Equal(t, len(sent), b.cable.Taken-before)
	},
	"fills every signal": func(t *testing.T, b bench) {
		dst := make([]daq.Signal, len(b.Values))
		for i := range dst {
			dst[i] = daq.Signal{Raw: math.Inf(1), Health: daq.Invalid}
		}
		for range 4 {
			b.Say(b.Values)
			if b.Instrument.Sample(t.Context(), dst) == nil {
				break
			}
		}
		for i, s := range dst {
			assert.Equal(t, daq.Signal{Raw: b.Values[i]}, s)
		}
	},
}

// noise is bytes without sense, the same for the same seed.
func noise(seed int) []byte {
	out := make([]byte, 37)
	x := uint32(seed)*2654435761 + 1
	for i := range out {
		x ^= x << 13
		x ^= x >> 17
		x ^= x << 5
		out[i] = byte(x >> 8)
	}
	return out
}
