package discovery_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/discovery"
	"holdbench/daq/modbus"
)

// overhear gives b to an overhearing in pieces of n bytes.
func overhear(b []byte, n int) (*discovery.Overhearing, []discovery.Overheard) {
	o := &discovery.Overhearing{}
	var found []discovery.Overheard
	for len(b) > 0 {
		k := min(n, len(b))
		found = append(found, o.Hear(b[:k])...)
		b = b[k:]
	}
	return o, append(found, o.Pause()...)
}

func framed(b ...byte) []byte {
	crc := modbus.CRC(b)
	return append(b, byte(crc), byte(crc>>8))
}

func TestFramesOfOthersAreOverheard(t *testing.T) {
	var line []byte
	line = append(line, 0x55, 0x00) // noise in front
	line = append(line, framed(17, 3, 0, 107, 0, 3)...)
	line = append(line, framed(17, 3, 6, 2, 43, 0, 0, 0, 100)...)
	line = append(line, framed(9, 16, 0, 1, 0, 1, 2, 0, 10)...)
	line = append(line, framed(9, 16, 0, 1, 0, 1)...)
	line = append(line, framed(2, 0x84, 2)...)
	line = append(line, framed(3, 6, 0, 1, 0, 3)...)
	want := []discovery.Overheard{{Slave: 17, Function: 3}, {Slave: 17, Function: 3}, {Slave: 9, Function: 16}, {Slave: 9, Function: 16}, {Slave: 2, Function: 0x84}, {Slave: 3, Function: 6}}
	for _, n := range []int{1, 3, 7, len(line)} {
		o, found := overhear(line, n)
		assert.Equal(t, want, found, "in pieces of %d", n)
		assert.Equal(t, "looks like Modbus RTU, check sums sound: slave 17, function 3; slave 2, exception to function 4; "+
			"slave 3, function 6; slave 9, function 16", o.Guess())
	}
	line[len(line)-3] ^= 1
	_, found := overhear(line, 5)
	assert.Len(t, found, 5, "a wrong check sum is no frame")
}

func TestWhatItSeemsToBe(t *testing.T) {
	text := strings.Repeat("+0012.34;23.1\r\n", 5)
	seven := func(odd bool) []byte {
		out := []byte(text)
		for i, c := range out {
			ones := 0
			for k := range 7 {
				ones += int(c >> k & 1)
			}
			if (ones%2 == 1) != odd {
				out[i] |= 0x80
			}
		}
		return out
	}
	random := make([]byte, 400)
	r := rand.NewPCG(1, 2)
	for i := range random {
		random[i] = byte(r.Uint64())
	}
	for _, c := range []struct {
		name, want string
		in         []byte
	}{
		{"nothing", "", nil},
		{"too little", "", []byte("12.3")},
		{"text", "looks like text in lines", []byte(text)},
		{"short lines between STX and CR LF", "looks like text in lines", []byte(strings.Repeat("\x020.007*29\r\n", 9))},
		{"short lines between STX and ETX", "looks like text", []byte(strings.Repeat("\x020.007\x03", 9))},
		{"text without ends", "looks like text, without ends of lines so far", []byte(strings.Repeat("12.3;", 9))},
		{"even", "--data-bits 7 --parity even", seven(false)},
		{"odd", "--data-bits 7 --parity odd", seven(true)},
		{"read at four times the rate", "baud set too high", oversampled([]byte(text), 4)},
		{"read at twice the rate", "baud set too high", oversampled([]byte(text), 2)},
		{"anything", "no text (", random},
	} {
		o, _ := overhear(c.in, 16)
		if c.want == "" {
			assert.Empty(t, o.Guess(), c.name)
			continue
		}
		assert.Contains(t, o.Guess(), c.want, c.name)
	}
}

// oversampled is what a receiver of k times the sender's rate makes of text,
// by the rules of asynchronous characters: it takes a falling edge for a start
// bit, and the next nine bits as they are.
func oversampled(text []byte, k int) []byte {
	var line []bool
	for _, c := range text {
		sent := []bool{false}
		for i := range 8 {
			sent = append(sent, c>>i&1 == 1)
		}
		for _, bit := range append(sent, true) {
			for range k {
				line = append(line, bit)
			}
		}
	}
	var out []byte
	for i := 1; i+10 <= len(line); {
		if !line[i-1] || line[i] {
			i++
			continue
		}
		var c byte
		for b := range 8 {
			if line[i+1+b] {
				c |= 1 << b
			}
		}
		out = append(out, c)
		i += 9
	}
	return out
}

func FuzzOverhearing(f *testing.F) {
	f.Add(framed(1, 4, 2, 0, 1), 3)
	f.Add([]byte("12.5;3\r\n"), 1)
	f.Fuzz(func(t *testing.T, b []byte, n int) {
		n = max(1, n%64)
		whole, all := overhear(b, len(b)+1)
		pieces, found := overhear(b, n)
		require.Equal(t, all, found, "pieces make no difference")
		require.Equal(t, whole.Guess(), pieces.Guess())
	})
}
