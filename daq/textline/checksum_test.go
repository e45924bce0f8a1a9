package textline

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The check values of the catalogue and of arithmetic; see Sums for the source
// of each.
func TestCheckValues(t *testing.T) {
	for _, s := range Sums {
		assert.Equal(t, s.CheckValue, s.Of([]byte("123456789")), s.Name)
		assert.NotEmpty(t, s.Source)
	}
}

// A CRC over a text and its own check is 0, or a constant: how receivers
// check. Law of every CRC without a final XOR, sent in its own order.
func TestCRCOfTextWithItsCheckIsZero(t *testing.T) {
	for name, lowFirst := range map[string]bool{"crc16-modbus": true, "crc16-arc": true, "crc16-kermit": true, "crc16-ccitt-false": false, "crc16-xmodem": false} {
		s := sumOf(t, name)
		c := Check{Sum: s, Form: Bytes, LowFirst: lowFirst}
		for _, text := range []string{"", "1", "123456789", "+012.34;21.5"} {
			assert.Zero(t, s.Of([]byte(c.Line("", text))), "%s of %q", name, text)
		}
	}
}

func TestChecksAsLinesCarryThem(t *testing.T) {
	for name, c := range map[string]struct {
		check  Check
		prefix string
		line   string
		body   string // empty: the line is refused
	}{
		"XOR behind a star":            {Check{Sum: sumOf(t, "xor"), After: "*"}, "", "123456789*31", "123456789"},
		"lower case":                   {Check{Sum: sumOf(t, "crc16-arc"), After: "*"}, "", "123456789*bb3d", "123456789"},
		"wrong":                        {Check{Sum: sumOf(t, "xor"), After: "*"}, "", "123456788*31", ""},
		"no star":                      {Check{Sum: sumOf(t, "xor"), After: "*"}, "", "12345678931", ""},
		"a star in the text":           {Check{Sum: sumOf(t, "xor"), After: "*"}, "", "1*2*29", "1*2"},
		"too short":                    {Check{Sum: sumOf(t, "crc16-xmodem")}, "", "1C3", ""},
		"low first":                    {Check{Sum: sumOf(t, "crc16-modbus"), LowFirst: true}, "", "123456789374B", "123456789"},
		"high first":                   {Check{Sum: sumOf(t, "crc16-modbus")}, "", "1234567894B37", "123456789"},
		"decimal":                      {Check{Sum: sumOf(t, "sum"), Form: Decimal, After: ";"}, "", "123456789;221", "123456789"},
		"decimal with zeros":           {Check{Sum: sumOf(t, "xor"), Form: Decimal, After: ";"}, "", "123456789;049", "123456789"},
		"decimal with a sign":          {Check{Sum: sumOf(t, "xor"), Form: Decimal, After: ";"}, "", "123456789;+49", ""},
		"bytes":                        {Check{Sum: sumOf(t, "crc16-ccitt-false"), Form: Bytes}, "", "123456789\x29\xb1", "123456789"},
		"prefix counts":                {Check{Sum: sumOf(t, "xor"), After: "*", WithPrefix: true}, "12", "3456789*31", "3456789"},
		"prefix does not":              {Check{Sum: sumOf(t, "xor"), After: "*"}, "12", "3456789*31", ""},
		"what stands before it counts": {Check{Sum: sumOf(t, "xor"), After: "9", WithAfter: true}, "", "12345678931", "12345678"},
	} {
		t.Run(name, func(t *testing.T) {
			body, err := c.check.take(c.prefix, c.line)
			if c.body == "" {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, c.body, body)
		})
	}
}
