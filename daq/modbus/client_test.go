package modbus_test

import (
	"bytes"
	"context"
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

const (
	deadline = 200 * time.Millisecond
	// 3.5 characters of 10 bits at 9600 bit/s.
	silence = 3645833 * time.Nanosecond
)

// exchange is a client on a cable whose far end a test plays.
type exchange struct {
	client *modbus.Client
	cable  *daqtest.Cable
	asked  []time.Time
}

// each runs a test in a bubble; answer is what the far end does when it is
// asked for the nth time, from 0.
func each(t *testing.T, answer func(x *exchange, n int, request []byte), test func(t *testing.T, x *exchange)) {
	synctest.Test(t, func(t *testing.T) {
		x := &exchange{cable: &daqtest.Cable{}}
		x.cable.Heard = func(b []byte) {
			x.asked = append(x.asked, time.Now())
			answer(x, len(x.asked)-1, b)
		}
		port := x.cable.Port(t, link.Config{Port: "memory", Baud: 9600, Timeout: deadline})
		x.client = modbus.NewClient(port, daq.NewWallClock())
		test(t, x)
	})
}

var ask = modbus.Request{Address: 17, Function: modbus.ReadInput, Start: 8, Count: 2}

func (x *exchange) read(t *testing.T) ([]uint16, error) { return x.client.Read(t.Context(), ask) }

// answerTo answers whatever read is asked with the first of the values.
func answerTo(request []byte, values ...uint16) []byte {
	r, err := modbus.ParseRequest(request)
	if err != nil {
		panic(err)
	}
	return r.Reply(append(values, make([]uint16, modbus.MaxRegisters)...)[:r.Count])
}

func TestSilentIntervalIsKept(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		x.cable.SendAfter(10*time.Millisecond, ask.Reply([]uint16{1, 2}))
	}, func(t *testing.T, x *exchange) {
		for range 5 {
			_, err := x.read(t)
			require.NoError(t, err)
		}
		for i, at := range x.asked[1:] {
			assert.Equal(t, 10*time.Millisecond+silence, at.Sub(x.asked[i]))
		}
	})
}

func TestAnswerInPieces(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		for i, b := range ask.Reply([]uint16{1, 2}) {
			x.cable.SendAfter(time.Duration(i+1)*16*time.Millisecond, []byte{b})
		}
	}, func(t *testing.T, x *exchange) {
		got, err := x.read(t)
		require.NoError(t, err)
		assert.Equal(t, []uint16{1, 2}, got)
	})
}

// Who leaves in the midst of an exchange does not speak into its answer: the
// command that brings outputs to their safe state would be lost.
func TestExchangeThatWasLeftIsHeardOut(t *testing.T) {
	for name, address := range map[string]byte{"the same slave": ask.Address, "another slave": ask.Address + 1} {
		t.Run(name, func(t *testing.T) {
			off := modbus.Write(address, modbus.WriteCoil, 0, 0)
			began := time.Time{}
			each(t, func(x *exchange, n int, request []byte) {
				if n == 0 {
					began = time.Now()
					x.cable.SendAfter(100*time.Millisecond, ask.Reply([]uint16{1, 2}))
					return
				}
				x.cable.SendAfter(10*time.Millisecond, off.Reply(nil))
			}, func(t *testing.T, x *exchange) {
				ctx, leave := context.WithTimeout(t.Context(), 50*time.Millisecond)
				defer leave()
				_, err := x.client.Read(ctx, ask)
				require.ErrorIs(t, err, context.DeadlineExceeded)
				_, err = x.client.Do(t.Context(), off)
				require.NoError(t, err)
				assert.Equal(t, 100*time.Millisecond+silence, x.asked[1].Sub(began))
				assert.Equal(t, 1, x.client.Counts().Late)
			})
		})
	}
}

// A machine that is busy, or an adapter, may hold back the rest of an answer.
func TestAnswerThatStopsHalfWayIsWaitedFor(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		answer := ask.Reply([]uint16{1, 2})
		x.cable.Send(answer[:7])
		x.cable.SendAfter(deadline-1, answer[7:])
	}, func(t *testing.T, x *exchange) {
		got, err := x.read(t)
		require.NoError(t, err)
		assert.Equal(t, []uint16{1, 2}, got)
	})
}

func TestAnswerAmongWhatDoesNotBelong(t *testing.T) {
	foreign := modbus.Request{Address: 18, Function: modbus.ReadInput, Count: 2}.Reply([]uint16{8, 9})
	longer := modbus.Request{Address: 17, Function: modbus.ReadInput, Count: 3}.Reply([]uint16{8, 9, 10})
	for name, c := range map[string]struct {
		before []byte
		counts modbus.Counts
	}{
		"a stray byte":               {[]byte{0}, modbus.Counts{Stray: 1}},
		"a torn frame":               {foreign[:6], modbus.Counts{Stray: 6}},
		"another slave's answer":     {foreign, modbus.Counts{Foreign: 1}},
		"an answer of other length":  {longer, modbus.Counts{Foreign: 1}},
		"another slave's refusal":    {modbus.Request{Address: 18, Function: 4}.Refusal(2), modbus.Counts{Foreign: 1}},
		"an echo of the request":     {ask.Frame(), modbus.Counts{}},
		"an echo, then a stray byte": {append(ask.Frame(), 0xFF), modbus.Counts{Stray: 1}},
	} {
		t.Run(name, func(t *testing.T) {
			each(t, func(x *exchange, n int, request []byte) {
				x.cable.Send(c.before)
				// Longer than a mangled answer would be waited for.
				x.cable.SendAfter(30*time.Millisecond, ask.Reply([]uint16{1, 2}))
			}, func(t *testing.T, x *exchange) {
				got, err := x.read(t)
				require.NoError(t, err)
				assert.Equal(t, []uint16{1, 2}, got)
				want := c.counts
				want.Requests, want.Answers = 1, 1
				assert.Equal(t, want, x.client.Counts())
			})
		})
	}
}

func TestWhyThereWasNoAnswer(t *testing.T) {
	reply := ask.Reply([]uint16{1, 2})
	flipped := bytes.Clone(reply)
	flipped[4] ^= 1
	for name, c := range map[string]struct {
		send []byte
		want error
	}{
		"silence":       {nil, modbus.ErrNoAnswer},
		"echo only":     {ask.Frame(), modbus.ErrNoAnswer},
		"cut short":     {reply[:4], modbus.ErrGarbled},
		"a bit flipped": {flipped, modbus.ErrGarbled},
		"foreign":       {modbus.Request{Address: 18, Function: 4, Count: 2}.Reply([]uint16{1, 2}), modbus.ErrForeign},
	} {
		t.Run(name, func(t *testing.T) {
			each(t, func(x *exchange, n int, request []byte) {
				if n == 0 {
					x.cable.Send(c.send)
					return
				}
				x.cable.Send(answerTo(request, 3, 4))
			}, func(t *testing.T, x *exchange) {
				_, err := x.read(t)
				require.ErrorIs(t, err, c.want)
				require.ErrorIs(t, err, link.ErrTimeout)
				got, err := x.read(t)
				require.NoError(t, err, "the next exchange is sound")
				assert.Equal(t, []uint16{3, 4}, got)
			})
		})
	}
}

func TestLateAnswerIsNotTakenForTheNext(t *testing.T) {
	for _, late := range []time.Duration{deadline + 1, deadline + deadline/2, 2*deadline - 1} {
		each(t, func(x *exchange, n int, request []byte) {
			if n == 0 {
				x.cable.SendAfter(late, ask.Reply([]uint16{1, 1}))
				return
			}
			x.cable.SendAfter(20*time.Millisecond, ask.Reply([]uint16{2, 2}))
		}, func(t *testing.T, x *exchange) {
			_, err := x.read(t)
			require.ErrorIs(t, err, modbus.ErrNoAnswer)
			got, err := x.read(t)
			require.NoError(t, err)
			assert.Equal(t, []uint16{2, 2}, got)
			assert.Equal(t, 1, x.client.Counts().Late)
		})
	}
}

// A gateway that hangs for a while hands on what has gathered in order. Each
// answer brings the number of its question, so that a late one would show.
func TestVeryLateAnswerIsNotTakenForALaterOne(t *testing.T) {
	for _, r := range []modbus.Request{
		{Address: 17, Function: modbus.ReadInput, Start: 8, Count: 2},
		{Address: 17, Function: modbus.ReadHolding, Start: 8, Count: 1},
		{Address: 17, Function: modbus.ReadHolding, Start: 65535, Count: 1},
		{Address: 17, Function: modbus.ReadInput, Start: 0, Count: modbus.MaxRegisters},
	} {
		for late := deadline / 4; late < 7*deadline; late += deadline / 4 {
			free := time.Time{}
			each(t, func(x *exchange, n int, request []byte) {
				at := time.Now()
				if n == 1 {
					at = at.Add(late)
				}
				if at.Before(free) {
					at = free
				}
				free = at.Add(time.Millisecond)
				x.cable.SendAfter(time.Until(free), answerTo(request, uint16(n), 0))
			}, func(t *testing.T, x *exchange) {
				for range 40 {
					before := len(x.asked)
					got, err := x.client.Read(t.Context(), r)
					if err == nil {
						assert.GreaterOrEqual(t, int(got[0]), before, "late by %v", late)
					}
				}
				_, err := x.client.Read(t.Context(), r)
				assert.NoError(t, err, "it goes on")
				time.Sleep(10 * deadline) // let the timers of this bubble end
			})
		}
	}
}

// Some modules say nothing to a question for a register that they do not have.
func TestSlaveThatRefusesBySilenceComesBack(t *testing.T) {
	one := modbus.Request{Address: 17, Function: modbus.ReadInput, Start: 8, Count: 1}
	each(t, func(x *exchange, n int, request []byte) {
		if n > 0 && bytes.Equal(request, one.Frame()) {
			x.cable.Send(answerTo(request, 5))
		}
	}, func(t *testing.T, x *exchange) {
		began := time.Now()
		for {
			got, err := x.client.Read(t.Context(), one)
			if err == nil {
				assert.Equal(t, []uint16{5}, got)
				break
			}
			require.Less(t, time.Since(began), 18*deadline)
		}
	})
}

func TestLateAnswerOfOneSlaveHoldsUpNoOther(t *testing.T) {
	other := modbus.Request{Address: 18, Function: modbus.ReadInput, Start: 8, Count: 2}
	each(t, func(x *exchange, n int, request []byte) {
		if n == 0 {
			x.cable.SendAfter(deadline+30*time.Millisecond, ask.Reply([]uint16{1, 1}))
			return
		}
		x.cable.SendAfter(50*time.Millisecond, other.Reply([]uint16{2, 2}))
	}, func(t *testing.T, x *exchange) {
		_, err := x.read(t)
		require.ErrorIs(t, err, modbus.ErrNoAnswer)
		began := time.Now()
		got, err := x.client.Read(t.Context(), other)
		require.NoError(t, err)
		assert.Equal(t, []uint16{2, 2}, got)
		assert.Equal(t, 50*time.Millisecond+silence, time.Since(began))
	})
}

func TestMangledAnswerCostsLittleTime(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		answer := answerTo(request, 1, 2)
		if n == 0 {
			answer[3] ^= 0x10
		}
		x.cable.Send(answer)
	}, func(t *testing.T, x *exchange) {
		_, err := x.read(t)
		require.ErrorIs(t, err, modbus.ErrGarbled)
		_, err = x.read(t)
		require.NoError(t, err)
		assert.Less(t, x.asked[1].Sub(x.asked[0]), 100*time.Millisecond)
	})
}

func TestBabblingLineEndsTheExchange(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		for i := range 1000 {
			x.cable.SendAfter(time.Duration(i)*time.Millisecond, bytes.Repeat([]byte{0xAA}, 100))
		}
	}, func(t *testing.T, x *exchange) {
		began := time.Now()
		_, err := x.read(t)
		require.ErrorIs(t, err, modbus.ErrGarbled)
		assert.LessOrEqual(t, time.Since(began), deadline)
		time.Sleep(2 * time.Second) // let the timers of this bubble end
	})
}

func TestExceptionIsAnAnswer(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		x.cable.Send(ask.Refusal(2))
	}, func(t *testing.T, x *exchange) {
		in := modbus.NewInstrument(x.client, 17, []modbus.Point{{Function: 4, Register: 8, Format: modbus.Format{Type: modbus.Int16}}})
		err := in.Sample(t.Context(), make([]daq.Signal, 1))
		require.EqualError(t, err, "address 17, function 4, register 8 (number 30009): exception 2, illegal data address")
		assert.Equal(t, modbus.Counts{Requests: 1, Answers: 1, Exceptions: 1}, x.client.Counts())
	})
}

func TestRefusedRegistersLeaveTheOthersAlone(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		s := daqtest.Slave{Address: 17, Registers: map[uint16]uint16{8: 80}}
		x.cable.Send(s.Answer(request))
	}, func(t *testing.T, x *exchange) {
		in := modbus.NewInstrument(x.client, 17, []modbus.Point{
			{Function: 4, Register: 3, Format: modbus.Format{Type: modbus.Int16}}, {Function: 4, Register: 8, Format: modbus.Format{Type: modbus.Int16}}})
		dst := make([]daq.Signal, 2)
		require.NoError(t, in.Sample(t.Context(), dst))
		assert.Equal(t, daq.Missing, dst[0].Health)
		assert.Equal(t, daq.Signal{Raw: 80}, dst[1])
	})
}

func TestFloatThatIsNoNumberIsUnhealthy(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		x.cable.Send(ask.Reply([]uint16{0x7FC0, 0})) // a quiet NaN, IEEE 754
	}, func(t *testing.T, x *exchange) {
		in := modbus.NewInstrument(x.client, 17, []modbus.Point{{Function: 4, Register: 8, Format: modbus.Format{Type: modbus.Float32}}})
		dst := make([]daq.Signal, 1)
		require.NoError(t, in.Sample(t.Context(), dst))
		assert.Equal(t, daq.Invalid, dst[0].Health)
	})
}
