package modbus

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
)

// V: MODBUS Application Protocol V1.1b3, sections 6.1 to 6.4: "coils 20–38"
// are read from address 0013 (hex) on, and likewise; the leading digit is
// custom (P).
func TestNumbersOfManuals(t *testing.T) {
	for text, want := range map[string]struct {
		function byte
		start    uint16
	}{
		"20": {ReadCoils, 0x13}, "10197": {ReadDiscrete, 0xC4}, "40108": {ReadHolding, 0x6B}, "30009": {ReadInput, 8},
		"1": {ReadCoils, 0}, "9999": {ReadCoils, 9998}, "00001": {ReadCoils, 0}, "010000": {ReadCoils, 9999},
		"400001": {ReadHolding, 0}, "465536": {ReadHolding, 65535}, "310000": {ReadInput, 9999}, "100001": {ReadDiscrete, 0},
	} {
		function, start, ok := ParseNumber(text)
		assert.True(t, ok, text)
		assert.Equal(t, want.function, function, text)
		assert.Equal(t, want.start, start, text)
	}
	for _, text := range []string{"0", "", "10000", "20001", "50001", "400000", "465537", "4000001", "-1", "+4001", "4x001", "30000"} {
		_, _, ok := ParseNumber(text)
		assert.False(t, ok, text)
	}
}

// L: every address has a number that leads back to it.
func TestEveryAddressHasANumber(t *testing.T) {
	for _, function := range []byte{ReadCoils, ReadDiscrete, ReadHolding, ReadInput} {
		for start := range 1 << 16 {
			f, s, ok := ParseNumber(Number(function, uint16(start)))
			if !ok || f != function || int(s) != start {
				t.Fatalf("function %d, address %d: number %s leads to %d, %d", function, start, Number(function, uint16(start)), f, s)
			}
		}
	}
	assert.Equal(t, "40001", Number(WriteRegister, 0))
	assert.Equal(t, strconv.Itoa(7), Number(WriteCoils, 6))
}
