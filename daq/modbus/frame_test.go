package modbus

import (
	"bytes"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseTakesNothingElseForTheAnswer(t *testing.T) {
	r := Request{Address: 17, Function: ReadInput, Start: 8, Count: 2}
	good := r.Reply([]uint16{1, 2})
	other := func(change func(*Request)) []byte {
		o := r
		change(&o)
		return o.Reply(make([]uint16, o.Count))
	}
	for name, c := range map[string]struct {
		frame []byte
		want  error
	}{
		"nothing":           {nil, ErrShort},
		"cut short":         {good[:len(good)-1], ErrShort},
		"a byte too long":   {append(bytes.Clone(good), 0), ErrLength},
		"a bit flipped":     {append([]byte{17, 4, 4, 0, 3}, good[5:]...), ErrCRC},
		"another address":   {other(func(o *Request) { o.Address = 18 }), ErrOther},
		"another function":  {other(func(o *Request) { o.Function = ReadHolding }), ErrOther},
		"other registers":   {other(func(o *Request) { o.Count = 3 }), ErrOther},
		"another's refusal": {Request{Address: 18, Function: ReadInput}.Refusal(2), ErrOther},
		"a write":           {[]byte{17, 6, 0, 1, 0, 3, 0x9A, 0x9B}, ErrLength},
		"odd bytes":         {appendCRC([]byte{17, 4, 3, 0, 1, 0}), ErrLength},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := r.Parse(c.frame)
			assert.ErrorIs(t, err, c.want)
		})
	}
	registers, err := r.Parse(good)
	require.NoError(t, err)
	assert.Equal(t, []uint16{1, 2}, registers)
	_, err = r.Parse(r.Refusal(2))
	assert.Equal(t, Exception(2), err)
}

func TestParseRequestRefusesWhatIsNone(t *testing.T) {
	frame := Request{Address: 1, Function: 3, Start: 2, Count: 4}.Frame()
	_, err := ParseRequest(frame[:7])
	assert.ErrorIs(t, err, ErrShort)
	_, err = ParseRequest(append(bytes.Clone(frame), 1))
	assert.ErrorIs(t, err, ErrLength)
	frame[3]++
	_, err = ParseRequest(frame)
	assert.ErrorIs(t, err, ErrCRC)
}

func TestPointsThatTouchAreReadTogether(t *testing.T) {
	in := NewInstrument(nil, 5, []Point{
		{ReadInput, 10, Float32HighFirst}, {ReadInput, 9, Int16}, {ReadInput, 12, Int16},
		{ReadHolding, 9, Int16}, {ReadInput, 14, Int16}, {ReadInput, 65535, Int16},
	})
	var requests []Request
	for _, b := range in.blocks {
		requests = append(requests, b.request)
	}
	assert.Equal(t, []Request{
		{5, ReadHolding, 9, 1}, {5, ReadInput, 9, 4}, {5, ReadInput, 14, 1}, {5, ReadInput, 65535, 1},
	}, requests)
	assert.Equal(t, []placed{{1, 0, Int16}, {0, 1, Float32HighFirst}, {2, 3, Int16}}, in.blocks[1].points)
}

func TestNoRequestAsksForMoreThanAFrameCarries(t *testing.T) {
	var points []Point
	for i := range 300 {
		points = append(points, Point{ReadInput, uint16(i), Int16})
	}
	in := NewInstrument(nil, 5, points)
	total := 0
	for _, b := range in.blocks {
		assert.LessOrEqual(t, int(b.request.Count), MaxRegisters)
		total += len(b.points)
	}
	assert.Equal(t, 300, total)
	assert.Len(t, in.blocks, 3)
}

func FuzzParse(f *testing.F) {
	r := Request{Address: 17, Function: ReadInput, Start: 8, Count: 2}
	f.Add(r.Reply([]uint16{1, 2}))
	f.Add(r.Refusal(2))
	f.Add(r.Frame())
	f.Add(append([]byte{0, 17, 4}, r.Reply([]uint16{1, 2})...))
	f.Fuzz(func(t *testing.T, b []byte) {
		registers, err := r.Parse(b)
		if err == nil {
			assert.Equal(t, b, r.Reply(registers))
		}
		if q, err := ParseRequest(b); err == nil {
			assert.Equal(t, b, q.Frame())
		}
		found := search(r, b)
		if err == nil {
			assert.True(t, found.answered)
			assert.Equal(t, registers, found.registers)
		}
		// Whatever comes before an answer, the answer is found, unless an
		// answer or a refusal stood there before.
		answer := []uint16{7, 8}
		after := search(r, append(bytes.Clone(b), r.Reply(answer)...))
		if !found.answered {
			var x Exception
			require.True(t, after.answered || after.foreign > found.foreign)
			if after.answered && !errors.As(after.exception, &x) && found.foreign == after.foreign {
				assert.Equal(t, answer, after.registers)
			}
		}
	})
}
