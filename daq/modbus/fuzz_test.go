package modbus

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fuzzed is a request of each function that this master uses.
var fuzzed = []Request{
	{Address: 17, Function: ReadCoils, Start: 19, Count: 19},
	{Address: 17, Function: ReadDiscrete, Start: 0xC4, Count: 22},
	{Address: 17, Function: ReadHolding, Start: 0x6B, Count: 3},
	{Address: 17, Function: ReadInput, Start: 8, Count: 2},
	Write(17, WriteCoil, 0xAC, 1),
	Write(17, WriteRegister, 1, 3),
	Write(17, WriteCoils, 19, 1, 0, 1, 1, 0, 0, 1, 1, 1, 0),
	Write(17, WriteRegisters, 1, 10, 0x0102),
}

// mostFuzzed bounds the bytes of a trial: some frames of the longest.
const mostFuzzed = 3 * longest

// someAnswer is the answer of a slave to r, whatever it reads.
func someAnswer(r Request) []uint16 {
	if r.Writes() {
		return nil
	}
	out := make([]uint16, r.Count)
	for i := range out {
		out[i] = uint16(i+1) & 1
	}
	return out
}

// FuzzRTUReply looks for the answer to each kind of request in any bytes.
func FuzzRTUReply(f *testing.F) {
	for i, r := range fuzzed {
		f.Add(byte(i), r.Reply(someAnswer(r)))
		f.Add(byte(i), r.Refusal(IllegalAddress))
		f.Add(byte(i), r.Frame())
		f.Add(byte(i), append([]byte{0, 17, r.Function}, r.Reply(someAnswer(r))...))
	}
	f.Fuzz(func(t *testing.T, which byte, b []byte) {
		r := fuzzed[int(which)%len(fuzzed)]
		b = b[:min(len(b), mostFuzzed)]
		values, err := r.Parse(b)
		if err == nil {
			// Bits that fill up the last byte need not be 0.
			again, err := r.Parse(r.Reply(values))
			require.NoError(t, err)
			require.Equal(t, values, again)
		}
		found := search(r, b)
		if err == nil {
			require.True(t, found.answered)
			require.Equal(t, values, found.values)
			require.Empty(t, found.rest)
		}
		if found.answered && found.exception == nil && !r.Writes() {
			require.Len(t, found.values, int(r.Count))
		}
		// Every byte is accounted for.
		accounted := found.stray + len(found.rest)
		for _, frame := range found.foreign {
			accounted += len(frame)
		}
		if found.answered {
			require.LessOrEqual(t, accounted+shortest, len(b))
		} else {
			require.Equal(t, len(b), accounted)
		}
		// Whatever comes before an answer, the answer is found, unless an
		// answer stood there before, or a frame began there that the answer
		// completes.
		if !found.answered {
			answer := someAnswer(r)
			after := search(r, append(bytes.Clone(b), r.Reply(answer)...))
			require.True(t, after.answered || len(after.foreign) > len(found.foreign))
			if after.answered && after.exception == nil && len(after.foreign) == len(found.foreign) && len(after.rest) == 0 {
				assert.Equal(t, answer, after.values)
			}
		}
	})
}

// FuzzRequest plays the slave: any bytes as a request, and as a line full of
// them.
func FuzzRequest(f *testing.F) {
	for _, r := range fuzzed {
		f.Add(r.Frame())
		f.Add(append([]byte{1, 2, 3}, append(r.Frame(), r.Frame()[:4]...)...))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		b = b[:min(len(b), mostFuzzed)]
		if r, err := ParseRequest(b); err == nil {
			again, err := ParseRequest(r.Frame())
			require.NoError(t, err)
			require.Equal(t, r, again)
			if r.Check() == nil && len(someAnswer(r)) <= MaxCoils {
				_, err := r.Parse(r.Reply(someAnswer(r)))
				require.NoError(t, err)
			}
		}
		for rest := b; ; {
			frame, after := NextRequest(rest)
			require.LessOrEqual(t, len(after)+len(frame), len(rest))
			if frame == nil {
				require.LessOrEqual(t, len(after), longest)
				break
			}
			require.True(t, sound(frame))
			rest = after
		}
	})
}

// FuzzMBAP takes any bytes as a stream of messages, in any pieces.
func FuzzMBAP(f *testing.F) {
	for i, r := range fuzzed {
		f.Add(byte(i), append(r.Message(1), r.ReplyMessage(1, someAnswer(r))...))
		f.Add(byte(i), r.RefusalMessage(2, IllegalFunction))
	}
	f.Add(byte(0), []byte{0, 1, 0, 0, 0, 1, 255})
	f.Fuzz(func(t *testing.T, which byte, b []byte) {
		r := fuzzed[int(which)%len(fuzzed)]
		b = b[:min(len(b), mostFuzzed)]
		for rest := b; ; {
			m, after, err := NextMessage(rest)
			if err != nil {
				require.Equal(t, rest, after)
				break
			}
			written := message(m.Transaction, m.Unit, m.PDU)
			require.Equal(t, rest[:len(written)], written)
			// A piece of it is no message and no fault.
			for _, n := range []int{len(written) - 1, len(written) / 2, 0} {
				_, _, err := NextMessage(written[:n])
				require.ErrorIs(t, err, ErrShort)
			}
			if got, err := m.Request(); err == nil {
				require.Equal(t, written[:6], got.Message(m.Transaction)[:6])
			}
			if values, err := r.ParseMessage(m); err == nil && !r.Writes() {
				require.Len(t, values, int(r.Count))
			}
			rest = after
		}
	})
}
