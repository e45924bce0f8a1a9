package discovery_test

import (
	"fmt"
	"math/rand/v2"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/daqtest"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
)

// truth is a line as it really is.
type truth struct {
	baud     int
	module   time.Duration // until it answers
	unsteady time.Duration // added to that, evenly from none to all of it
	latency  time.Duration // the adapter's timer
	every    time.Duration // between two questions; 0: at any time after the answer
}

// exchanges asks over a paced line, in the bubble's time. A question is 8
// bytes, an answer as many as told.
func exchanges(t *testing.T, w truth, answer, count int) []discovery.Exchange {
	random := rand.New(rand.NewPCG(1, 2))
	us, program := net.Pipe()
	instrument, it := net.Pipe()
	daqtest.Pace(program, instrument, daqtest.Pacing{Baud: w.baud, Latency: w.latency})
	go func() {
		b := make([]byte, 64)
		for heard := 0; ; {
			n, err := it.Read(b)
			if err != nil {
				return
			}
			for heard += n; heard >= 8; heard -= 8 {
				time.Sleep(w.module + time.Duration(random.Int64N(int64(w.unsteady)+1)))
				if _, err := it.Write(make([]byte, answer)); err != nil {
					return
				}
			}
		}
	}()
	start := time.Now()
	var out []discovery.Exchange
	for range count {
		next := time.Now().Add(w.every)
		e := discovery.Exchange{Sent: time.Since(start), Asked: 8, Answered: answer}
		_, err := us.Write(make([]byte, 8))
		require.NoError(t, err)
		b := make([]byte, 256)
		for got := 0; got < answer; {
			n, err := us.Read(b)
			require.NoError(t, err)
			got += n
			e.Last = time.Since(start)
			if e.First == 0 {
				e.First = e.Last
			}
		}
		out = append(out, e)
		if w.every == 0 {
			time.Sleep(time.Duration(random.Int64N(int64(64 * time.Millisecond))))
		}
		time.Sleep(time.Until(next))
	}
	for _, c := range []net.Conn{us, program, instrument, it} {
		require.NoError(t, c.Close())
	}
	return out
}

func TestModuleAndAdapterAreToldApart(t *testing.T) {
	ms := time.Millisecond
	for _, w := range []truth{
		{baud: 9600, module: 5 * ms, latency: 16 * ms},
		{baud: 9600, module: 30 * ms, latency: 16 * ms},
		{baud: 19200, module: 2 * ms, latency: 16 * ms},
		{baud: 115200, module: 2 * ms, latency: 16 * ms},
		{baud: 115200, module: 12 * ms, latency: 16 * ms},
		{baud: 19200, module: 20 * ms, latency: 8 * ms},
		{baud: 19200, module: 3 * ms, latency: 40 * ms},
	} {
		t.Run(fmt.Sprint(w), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				all := exchanges(t, w, 13, 40)
				character := link.CharacterTime(w.baud, 11)
				for _, known := range []bool{false, true} {
					d := discovery.Part(all, character, w.latency, known)
					assert.Equal(t, 40, d.Exchanges)
					assert.Equal(t, 21*character, d.Wire)
					assert.True(t, d.Seen, "the timer shows in the answers")
					assert.Equal(t, w.latency, d.Timer)
					assert.True(t, d.Told)
					assert.LessOrEqual(t, d.ModuleLow, w.module+ms/10)
					assert.GreaterOrEqual(t, d.ModuleHigh, w.module-ms/10)
					assert.InDelta(t, w.module.Seconds(), d.Module.Seconds(), 0.0015)
					assert.Less(t, d.ModuleHigh-d.ModuleLow, max(4*ms, w.latency/4), "a bound that says nothing")
				}
			})
		})
	}
}

func TestModuleThatHesitatesIsNoTimer(t *testing.T) {
	ms := time.Millisecond
	synctest.Test(t, func(t *testing.T) {
		w := truth{baud: 19200, module: 4 * ms, unsteady: 16 * ms}
		all := exchanges(t, w, 13, 60)
		d := discovery.Part(all, link.CharacterTime(w.baud, 11), 0, false)
		assert.False(t, d.Seen)
		assert.Zero(t, d.Timer)
		assert.False(t, d.Told, "it might be an adapter's doing")
		assert.InDelta(t, 0.012, d.Besides.Seconds(), 0.003)

		d = discovery.Part(all, link.CharacterTime(w.baud, 11), ms, true)
		assert.True(t, d.Told, "an adapter of 1 ms has nothing to do with it")
		assert.InDelta(t, 0.012, d.Module.Seconds(), 0.003)
	})
}

func TestUnsteadyModuleBehindATimer(t *testing.T) {
	ms := time.Millisecond
	synctest.Test(t, func(t *testing.T) {
		w := truth{baud: 19200, module: 4 * ms, unsteady: 10 * ms, latency: 16 * ms}
		d := discovery.Part(exchanges(t, w, 13, 80), link.CharacterTime(w.baud, 11), 0, false)
		require.True(t, d.Seen)
		assert.Equal(t, 16*ms, d.Timer)
		assert.InDelta(t, 0.009, d.Module.Seconds(), 0.002)
	})
}

func TestWhatCannotBeToldIsNotTold(t *testing.T) {
	ms := time.Millisecond
	character := link.CharacterTime(19200, 11)
	t.Run("questions in the timer's own step", func(t *testing.T) {
		synctest.Test(t, func(t *testing.T) {
			w := truth{baud: 19200, module: 4 * ms, latency: 16 * ms, every: 64 * ms}
			all := exchanges(t, w, 13, 40)
			d := discovery.Part(all, character, 0, false)
			assert.False(t, d.Seen)
			assert.False(t, d.Told)
			d = discovery.Part(all, character, 16*ms, true)
			if d.Told {
				assert.LessOrEqual(t, d.ModuleLow, w.module)
				assert.GreaterOrEqual(t, d.ModuleHigh, w.module)
			}
		})
	})
	t.Run("slow module without a timer", func(t *testing.T) {
		synctest.Test(t, func(t *testing.T) {
			for _, every := range []time.Duration{0, 100 * ms} {
				d := discovery.Part(exchanges(t, truth{baud: 19200, module: 25 * ms, every: every}, 13, 40), character, 0, false)
				assert.False(t, d.Seen, "asked every %v", every)
				assert.False(t, d.Told)
				assert.InDelta(t, 0.025, d.Besides.Seconds(), 0.001)
			}
		})
	})
	t.Run("too few", func(t *testing.T) {
		d := discovery.Part([]discovery.Exchange{{Sent: 0, First: 20 * ms, Last: 20 * ms, Asked: 8, Answered: 7}}, character, 16*ms, true)
		assert.False(t, d.Told)
		assert.Equal(t, 1, d.Exchanges)
		assert.Zero(t, discovery.Part(nil, character, 0, false))
	})
}

// L: 8 and 13 characters of 11 bits at 9600 bit/s are 24.06 ms, and two
// silent intervals of 3.5 characters 8.02 ms.
func TestSweepOnTheWire(t *testing.T) {
	s := discovery.Sweep{Frames: [][2]int{{8, 13}}, Character: link.CharacterTime(9600, 11), Silent: link.SilentInterval(9600, 11)}
	assert.InDelta(t, 0.03208, s.OnTheWire().Seconds(), 1e-5)
	assert.InDelta(t, 31.17, s.AtMost(), 0.01)
	s.Frames = append(s.Frames, [2]int{8, 13})
	assert.InDelta(t, 31.17/2, s.AtMost(), 0.01)
	assert.Zero(t, discovery.Sweep{Frames: [][2]int{{8, 13}}}.AtMost(), "no line, no limit")
}
