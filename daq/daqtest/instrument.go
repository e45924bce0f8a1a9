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

	// Streams says that the instrument sends unasked, so that a line that comes
	// late is no answer to another question.
	Streams bool
	// Sick makes the far end say, as Say does, that its first channel has no
	// number, in each way that it has; by the health that must come of it. Nil:
	// it has none.
	Sick map[daq.Health]func()
	// Stamp is the instrument's: when, on Clock, its last answer began. Nil: it
	// cannot say.
	Stamp func() time.Duration
	Clock daq.Clock
	// Counted is how much the instrument has counted that became no reading.
	// Nil: it counts nothing.
	Counted func() int
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
	"reads what comes in pieces": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		b.cable.Dribble(5 * time.Millisecond)
		b.arrives(t, b.other())
		b.cable.Dribble(0)
		time.Sleep(time.Second) // for what was said twice
		b.arrives(t, b.Values)
	},
	"takes no late answer for the next": func(t *testing.T, b bench) {
		if b.Streams {
			return
		}
		b.arrives(t, b.Values)
		for _, late := range []time.Duration{timeout + 1, 3 * timeout / 2, 2*timeout - time.Millisecond} {
			b.cable.Delay(late)
			b.Say(b.Values)
			_, err := b.sample(t)
			require.ErrorIs(t, err, link.ErrTimeout)
			b.cable.Delay(2 * timeout / 3)
			b.arrives(t, b.other())
			b.cable.Delay(0)
			time.Sleep(time.Second)
		}
	},
	"makes no reading of a banner": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		b.Mute()
		for _, line := range banner {
			b.cable.Send([]byte(line))
			_, err := b.sample(t)
			require.ErrorIs(t, err, link.ErrTimeout, "%q", line)
		}
		b.arrives(t, b.other())
	},
	"makes no reading of what others speak": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		b.Mute()
		for _, said := range others {
			b.cable.Send(said)
			_, err := b.sample(t)
			require.ErrorIs(t, err, link.ErrTimeout, "%q", said)
		}
		b.cable.Send([]byte("\r\n"))
		b.arrives(t, b.other())
	},
	"says what is wrong with a reading": func(t *testing.T, b bench) {
		for health, say := range b.Sick {
			b.arrives(t, b.Values)
			dst := make([]daq.Signal, len(b.Values))
			say()
			require.NoError(t, b.Instrument.Sample(t.Context(), dst))
			assert.Equal(t, health, dst[0].Health)
			for i, s := range dst[1:] {
				assert.Equal(t, daq.Signal{Raw: b.Values[i+1]}, s, "the others are as they were")
			}
		}
		b.arrives(t, b.other())
	},
	"stamps its answers": func(t *testing.T, b bench) {
		if b.Stamp == nil {
			return // the scanner takes the middle of the exchange
		}
		before := time.Duration(-1)
		for range 3 {
			time.Sleep(time.Second)
			asked := b.Clock.Now()
			b.arrives(t, b.Values)
			stamp := b.Stamp()
			assert.Greater(t, stamp, before)
			assert.LessOrEqual(t, stamp, b.Clock.Now())
			assert.Greater(t, stamp, asked-timeout/2, "no longer ago than its characters take")
			before = stamp
		}
	},
	"counts what became no reading": func(t *testing.T, b bench) {
		if b.Counted == nil {
			return
		}
		b.arrives(t, b.Values)
		before := b.Counted()
		b.Mute()
		b.cable.Send(noise(1))
		b.cable.Send([]byte("\r\n"))
		_, err := b.sample(t)
		require.ErrorIs(t, err, link.ErrTimeout)
		assert.Greater(t, b.Counted(), before)
	},
	"tells the trace what it made of the bytes": func(t *testing.T, b bench) {
		b.arrives(t, b.Values)
		read := len(b.cable.Verdicts())
		assert.NotZero(t, read, "a verdict of the answer")
		b.Mute()
		b.cable.Send(noise(1))
		b.cable.Send([]byte("\r\n"))
		_, err := b.sample(t)
		require.ErrorIs(t, err, link.ErrTimeout)
		more := b.cable.Verdicts()[read:]
		assert.NotEmpty(t, more, "a verdict of the noise")
		for _, verdict := range more {
			assert.NotContains(t, []string{"answer", "line"}, verdict)
		}
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

// banner is what an instrument prints when it starts.
var banner = []string{"\r\n\r\n", "Boot 1.07\r\n", "Gauge 1 Rev. 2.14, S/N 0042; 16 bit\r\n", "ready\r\n"}

// others are what is heard where the wrong thing is plugged in: a Modbus
// request and reply, an identification, a position report's head, a prompt.
var others = [][]byte{
	{0x09, 0x03, 0x00, 0x08, 0x00, 0x02, 0x45, 0x41},
	{0x09, 0x03, 0x02, 0x47, 0xF1, 0x6B, 0xF1},
	[]byte("MAKER,MODEL 7,SN42,1.0\r\n"),
	[]byte("$SENSR,ready*\r\n"),
	[]byte("login: "),
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
