package modbus

import (
	"bytes"
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
		"nothing":                {nil, ErrShort},
		"cut short":              {good[:len(good)-1], ErrShort},
		"a byte too long":        {append(bytes.Clone(good), 0), ErrLength},
		"a bit flipped":          {append([]byte{17, 4, 4, 0, 3}, good[5:]...), ErrCRC},
		"another address":        {other(func(o *Request) { o.Address = 18 }), ErrOther},
		"another function":       {other(func(o *Request) { o.Function = ReadHolding }), ErrOther},
		"other registers":        {other(func(o *Request) { o.Count = 3 }), ErrOther},
		"another's refusal":      {Request{Address: 18, Function: ReadInput}.Refusal(2), ErrOther},
		"a write":                {[]byte{17, 6, 0, 1, 0, 3, 0x9A, 0x9B}, ErrOther},
		"another function still": {frame(17, []byte{22, 0, 1, 0, 3}), ErrLength},
		"odd bytes":              {frame(17, []byte{4, 3, 0, 1, 0}), ErrLength},
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
