package link

import "time"

// CharacterTime is how long one character of that many bits, start, parity
// and stop bits counted, takes on the line. It is 0 when baud is not positive.
func CharacterTime(baud, bits int) time.Duration {
	if baud <= 0 {
		return 0
	}
	return time.Duration(int64(bits) * int64(time.Second) / int64(baud))
}

// SilentInterval is how long the line must be quiet between two Modbus RTU
// frames: 3.5 characters up to 19 200 bit/s, 1.75 ms above. It is 0 when baud
// is not positive, for a stream that has no line.
//
// Source: [1] section 2.5.1.1.
func SilentInterval(baud, bits int) time.Duration {
	switch {
	case baud <= 0:
		return 0
	case baud > 19200:
		return 1750 * time.Microsecond
	}
	return time.Duration(7 * int64(bits) * int64(time.Second) / (2 * int64(baud)))
}

// Bits is the number of bits of one character on the line: a start bit, the
// data bits, the parity bit if there is one, the stop bits.
func (c Config) Bits() int {
	bits := 1 + 8 + 1
	if c.DataBits == 7 {
		bits--
	}
	if c.Parity == "even" || c.Parity == "odd" {
		bits++
	}
	if c.StopBits == 2 {
		bits++
	}
	return bits
}

// CharacterTime is the time of one character with this framing.
func (c Config) CharacterTime() time.Duration { return CharacterTime(c.Baud, c.Bits()) }

// SilentInterval is the pause between Modbus RTU frames with this framing.
func (c Config) SilentInterval() time.Duration { return SilentInterval(c.Baud, c.Bits()) }
