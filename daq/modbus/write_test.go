package modbus_test

import (
	"bytes"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// everyWrite is a request of each function that writes.
var everyWrite = map[string]modbus.Request{
	"coil":      modbus.Write(17, modbus.WriteCoil, 3, 1),
	"register":  modbus.Write(17, modbus.WriteRegister, 3, 0xABCD),
	"coils":     modbus.Write(17, modbus.WriteCoils, 3, 1, 0, 1),
	"registers": modbus.Write(17, modbus.WriteRegisters, 3, 7, 8, 9),
}

func TestWritesAreAnswered(t *testing.T) {
	for name, r := range everyWrite {
		t.Run(name, func(t *testing.T) {
			each(t, func(x *exchange, n int, request []byte) {
				assert.Equal(t, r.Frame(), request)
				x.cable.SendAfter(10*time.Millisecond, r.Reply(nil))
			}, func(t *testing.T, x *exchange) {
				_, err := x.client.Do(t.Context(), r)
				require.NoError(t, err)
				assert.Equal(t, modbus.Counts{Requests: 1, Answers: 1}, x.client.Counts())
			})
		})
	}
}

// A write whose answer does not come, or not soundly, is sent once, and the
// error says that nobody knows.
func TestUnansweredWriteIsNotRepeated(t *testing.T) {
	for name, r := range everyWrite {
		damaged := bytes.Clone(r.Reply(nil))
		damaged[3] ^= 4
		for what, c := range map[string]struct {
			send []byte
			want error
		}{
			"silence":       {nil, modbus.ErrNoAnswer},
			"a bit flipped": {damaged, modbus.ErrGarbled},
			"cut short":     {r.Reply(nil)[:5], modbus.ErrGarbled},
			"foreign":       {modbus.Write(18, modbus.WriteRegister, 9, 1).Reply(nil), modbus.ErrForeign},
			"another place": {modbus.Write(17, r.Function, 9, r.Values...).Reply(nil), modbus.ErrForeign},
		} {
			t.Run(name+", "+what, func(t *testing.T) {
				each(t, func(x *exchange, n int, request []byte) { x.cable.Send(c.send) }, func(t *testing.T, x *exchange) {
					_, err := x.client.Do(t.Context(), r)
					require.ErrorIs(t, err, c.want)
					require.ErrorIs(t, err, modbus.ErrUnknown)
					require.ErrorIs(t, err, link.ErrTimeout)
					assert.Len(t, x.asked, 1)
				})
			})
		}
	}
}

func TestRefusedWriteTookNoEffect(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		x.cable.Send(everyWrite["coil"].Refusal(modbus.IllegalAddress))
	}, func(t *testing.T, x *exchange) {
		_, err := x.client.Do(t.Context(), everyWrite["coil"])
		require.ErrorIs(t, err, modbus.IllegalAddress)
		require.NotErrorIs(t, err, modbus.ErrUnknown)
	})
}

func TestNothingIsSentThatMayNotBe(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {}, func(t *testing.T, x *exchange) {
		broadcast := modbus.Write(0, modbus.WriteCoil, 3, 1)
		for _, r := range []modbus.Request{broadcast, modbus.Write(248, modbus.WriteCoil, 3, 1),
			modbus.Write(17, modbus.WriteCoil, 3, 2), modbus.Write(17, modbus.WriteCoil, 3, 1, 1),
			{Address: 17, Function: modbus.WriteRegister, Count: 1}, {Address: 17, Function: 7, Count: 1},
			{Address: 17, Function: 3, Start: 65535, Count: 2}, {Address: 17, Function: 3, Count: 1, Values: []uint16{1}}} {
			_, err := x.client.Do(t.Context(), r)
			require.ErrorIs(t, err, modbus.ErrLimit, "%v", r)
		}
		assert.Empty(t, x.asked)
	})
}

// The answer to functions 5 and 6 is the request once more, which an adapter
// that hears itself gives too.
func TestEchoIsNoAnswerToAWrite(t *testing.T) {
	r := everyWrite["coil"]
	for name, c := range map[string]struct {
		echoes, answers bool
		want            error
	}{
		"no echo":         {false, true, nil},
		"echo and answer": {true, true, nil},
		"echo alone":      {true, false, modbus.ErrNoAnswer},
		"neither":         {false, false, modbus.ErrNoAnswer},
	} {
		t.Run(name, func(t *testing.T) {
			each(t, func(x *exchange, n int, request []byte) {
				if c.echoes {
					x.cable.Send(request)
				}
				switch {
				case n == 0:
					x.cable.SendAfter(5*time.Millisecond, ask.Reply([]uint16{1, 2}))
				case c.answers:
					x.cable.SendAfter(5*time.Millisecond, r.Reply(nil))
				}
			}, func(t *testing.T, x *exchange) {
				_, err := x.read(t) // by which the echo is known
				require.NoError(t, err)
				_, err = x.client.Do(t.Context(), r)
				require.ErrorIs(t, err, c.want)
			})
		})
	}
}

// An answer that comes twice must not be taken for the answer to the next
// request of its kind.
func TestDoubledAnswerIsCountedAndDropped(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		answer := ask.Reply([]uint16{uint16(n), 0})
		x.cable.Send(append(answer, answer...))
		x.cable.SendAfter(20*time.Millisecond, answer) // and again, much later
	}, func(t *testing.T, x *exchange) {
		for n := range 5 {
			got, err := x.read(t)
			require.NoError(t, err)
			require.Equal(t, []uint16{uint16(n), 0}, got)
		}
		time.Sleep(time.Second)
		counts := x.client.Counts()
		assert.Equal(t, 5, counts.Answers)
		assert.Equal(t, 9, counts.Doubled) // the last is not looked for any more
	})
}

// Noise between two exchanges is waited out: the silent interval counts from
// its end.
func TestRequestWaitsUntilTheLineIsSilent(t *testing.T) {
	var noise time.Time
	each(t, func(x *exchange, n int, request []byte) {
		x.cable.Send(ask.Reply([]uint16{1, 2}))
		for i := range 10 { // closer together than the silent interval
			x.cable.SendAfter(time.Duration(i+1)*3*time.Millisecond, []byte{0xFE})
		}
		noise = time.Now().Add(30 * time.Millisecond)
	}, func(t *testing.T, x *exchange) {
		for range 3 {
			_, err := x.read(t)
			require.NoError(t, err)
		}
		for i, at := range x.asked[1:] {
			assert.GreaterOrEqual(t, at.Sub(x.asked[i]), 30*time.Millisecond+silence)
		}
		assert.Equal(t, modbus.Counts{Requests: 3, Answers: 3, Stray: 20}, x.client.Counts())
		time.Sleep(time.Until(noise) + time.Second)
	})
}

// A line that never falls silent is asked all the same, after a while.
func TestBabblingLineIsStillAsked(t *testing.T) {
	var stop atomic.Bool
	each(t, func(x *exchange, n int, request []byte) {
		x.cable.Send(ask.Reply([]uint16{1, 2}))
	}, func(t *testing.T, x *exchange) {
		go func() {
			for !stop.Load() {
				x.cable.Send([]byte{0x55})
				time.Sleep(time.Millisecond)
			}
		}()
		for range 5 {
			began := time.Now()
			got, err := x.read(t)
			require.NoError(t, err)
			require.Equal(t, []uint16{1, 2}, got)
			assert.Less(t, time.Since(began), deadline)
		}
		stop.Store(true)
		time.Sleep(time.Second)
	})
}

// A late answer that arrives while another slave is asked is late, not
// foreign.
func TestLateAnswerIsCountedWhileAnotherIsAsked(t *testing.T) {
	other := modbus.Request{Address: 18, Function: modbus.ReadInput, Start: 8, Count: 2}
	each(t, func(x *exchange, n int, request []byte) {
		switch n {
		case 0:
			x.cable.SendAfter(deadline+20*time.Millisecond, ask.Reply([]uint16{1, 1}))
		case 1:
			x.cable.SendAfter(50*time.Millisecond, other.Reply([]uint16{2, 2}))
		default:
			x.cable.Send(ask.Reply([]uint16{3, 3}))
		}
	}, func(t *testing.T, x *exchange) {
		_, err := x.read(t)
		require.ErrorIs(t, err, modbus.ErrNoAnswer)
		_, err = x.client.Read(t.Context(), other)
		require.NoError(t, err)
		began := time.Now()
		got, err := x.read(t)
		require.NoError(t, err)
		assert.Equal(t, []uint16{3, 3}, got)
		assert.Equal(t, silence, time.Since(began), "what was owed has come")
		assert.Equal(t, modbus.Counts{Requests: 3, Answers: 2, Silent: 1, Late: 1}, x.client.Counts())
	})
}

// What becomes of every piece of an exchange, as the byte trace has it.
func TestVerdictsOfTheTrace(t *testing.T) {
	reply := ask.Reply([]uint16{1, 2})
	foreign := modbus.Request{Address: 18, Function: 4, Count: 2}.Reply([]uint16{1, 2})
	longer := modbus.Request{Address: 17, Function: 4, Count: 3}.Reply([]uint16{1, 2, 3})
	damaged := bytes.Clone(reply)
	damaged[4] ^= 1
	for name, c := range map[string]struct {
		send []byte
		want []string
	}{
		"answer":    {reply, []string{"answer"}},
		"exception": {ask.Refusal(2), []string{"exception 2, illegal data address"}},
		"nothing":   {nil, []string{"no answer"}},
		"noise":     {append([]byte{0}, reply...), []string{"noise: 1 byte", "answer"}},
		"flipped":   {damaged, []string{"check sum wrong: 9 bytes", "no sound frame"}},
		"foreign":   {foreign, []string{"other slave: address 18, function 4", "not answered, others spoke"}},
		"longer":    {longer, []string{"other question: address 17, function 4", "not answered, others spoke"}},
		"short":     {reply[:7], []string{"cut short: 7 bytes", "no sound frame"}},
		"echo":      {append(ask.Frame(), reply...), []string{"echo", "answer"}},
		"doubled":   {append(reply, reply...), []string{"doubled answer", "answer"}},
	} {
		t.Run(name, func(t *testing.T) {
			var got []string
			traced(t, c.send, func(v string) { got = append(got, v) })
			assert.Equal(t, c.want, got)
		})
	}
}

// drive has a slave with coils and registers behind some outputs.
func drive(t *testing.T, slave daqtest.Slave, answer func(n int, reply []byte) []byte, outputs []modbus.Output, test func(t *testing.T, o *modbus.Outputs, x *exchange)) {
	each(t, func(x *exchange, n int, request []byte) {
		x.cable.Send(answer(n, slave.Answer(request)))
	}, func(t *testing.T, x *exchange) { test(t, modbus.NewOutputs(x.client, slave.Address, outputs), x) })
}

func plain(_ int, reply []byte) []byte { return reply }

var outputs = []modbus.Output{
	{Function: modbus.WriteCoil, Register: 3},
	{Function: modbus.WriteCoils, Register: 4},
	{Function: modbus.WriteRegister, Register: 9, On: 0x00AA, Off: 0x0055},
	{Function: modbus.WriteRegisters, Register: 10, On: 0x0010, Off: 0, Mask: 0x0010},
}

func newSlave() daqtest.Slave {
	return daqtest.Slave{Address: 17, Coils: map[uint16]uint16{3: 0, 4: 0}, Registers: map[uint16]uint16{9: 0x55, 10: 0xFF0F}}
}

func TestOutputsAreWrittenAndReadBack(t *testing.T) {
	slave := newSlave()
	drive(t, slave, plain, outputs, func(t *testing.T, o *modbus.Outputs, x *exchange) {
		for i := range outputs {
			require.NoError(t, o.Drive(t.Context(), i, true))
		}
		assert.Equal(t, map[uint16]uint16{3: 1, 4: 1}, slave.Coils)
		assert.Equal(t, map[uint16]uint16{9: 0xAA, 10: 0xFF1F}, slave.Registers, "other bits are left as they are")
		for i := range outputs {
			require.NoError(t, o.Drive(t.Context(), i, false))
		}
		assert.Equal(t, map[uint16]uint16{3: 0, 4: 0}, slave.Coils)
		assert.Equal(t, map[uint16]uint16{9: 0x55, 10: 0xFF0F}, slave.Registers)
	})
}

func TestUnansweredWriteIsReadBackBeforeAnythingIsSaid(t *testing.T) {
	lost := func(which ...int) func(int, []byte) []byte {
		return func(n int, reply []byte) []byte {
			for _, k := range which {
				if n == k {
					return nil
				}
			}
			return reply
		}
	}
	t.Run("it took effect", func(t *testing.T) {
		drive(t, newSlave(), lost(0), outputs, func(t *testing.T, o *modbus.Outputs, x *exchange) {
			require.NoError(t, o.Drive(t.Context(), 0, true))
			assert.Len(t, x.asked, 2, "one write, one look")
		})
	})
	t.Run("the line is dead", func(t *testing.T) {
		drive(t, newSlave(), lost(0, 1), outputs, func(t *testing.T, o *modbus.Outputs, x *exchange) {
			err := o.Drive(t.Context(), 0, true)
			require.ErrorIs(t, err, modbus.ErrUnknown)
			require.ErrorContains(t, err, "address 17, function 5, coil 3 (number 4): it is not known whether the write took effect")
			assert.Len(t, x.asked, 2)
		})
	})
	t.Run("it took none", func(t *testing.T) {
		slave := newSlave()
		each(t, func(x *exchange, n int, request []byte) {
			if n > 0 { // the write never reached it
				x.cable.Send(slave.Answer(request))
			}
		}, func(t *testing.T, x *exchange) {
			err := modbus.NewOutputs(x.client, 17, outputs).Drive(t.Context(), 0, true)
			require.ErrorIs(t, err, modbus.ErrNotDriven)
		})
	})
}

func TestModuleThatSwitchesSomethingElseIsFoundOut(t *testing.T) {
	slave := newSlave()
	each(t, func(x *exchange, n int, request []byte) {
		if n == 0 { // says yes, does nothing
			r, err := modbus.ParseRequest(request)
			require.NoError(t, err)
			x.cable.Send(r.Reply(nil))
			return
		}
		x.cable.Send(slave.Answer(request))
	}, func(t *testing.T, x *exchange) {
		err := modbus.NewOutputs(x.client, 17, outputs).Drive(t.Context(), 2, true)
		require.ErrorIs(t, err, modbus.ErrNotDriven)
		require.ErrorContains(t, err, "address 17, function 6, register 9 (number 40010)")
	})
}

func TestOutputThatNobodyMayReadIsTakenAtItsWord(t *testing.T) {
	each(t, func(x *exchange, n int, request []byte) {
		r, err := modbus.ParseRequest(request)
		require.NoError(t, err)
		if r.Writes() {
			x.cable.Send(r.Reply(nil))
			return
		}
		x.cable.Send(r.Refusal(modbus.IllegalFunction))
	}, func(t *testing.T, x *exchange) {
		o := modbus.NewOutputs(x.client, 17, outputs)
		require.NoError(t, o.Drive(t.Context(), 0, true))
		require.ErrorIs(t, o.Drive(t.Context(), 3, true), modbus.IllegalFunction, "bits of a register must be read")
	})
}

// traced is one exchange with what the trace heard of it.
func traced(t *testing.T, send []byte, verdict func(string)) {
	t.Helper()
	each(t, func(x *exchange, n int, request []byte) { x.cable.Send(send) }, func(t *testing.T, x *exchange) {
		port := link.Over(link.Config{Name: "line", Port: "memory", Baud: 9600, Timeout: deadline}, link.Options{Trace: func(e link.Traced) {
			if e.Verdict != "" {
				verdict(e.Verdict)
			}
		}}, x.cable.Dial)
		require.NoError(t, port.Reopen())
		defer func() { require.NoError(t, port.Close()) }()
		x.client = modbus.NewClient(port, daq.NewWallClock())
		_, _ = x.read(t) // whichever way it ends
	})
}
