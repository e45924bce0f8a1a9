package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/discovery"
	"holdbench/daq/modbus"
)

// A type that fits no register takes no room in the table.
func TestRegistersAreShownUnderTypesThatSaySomething(t *testing.T) {
	var out bytes.Buffer
	format := modbus.Format{Type: modbus.Float32, LowWordFirst: true}
	words := format.Encode(21.5)
	printRegisters(&out, []discovery.Snapshot{{modbus.ReadHolding: {10: words[0], 11: words[1]}, modbus.ReadInput: {2: 4001}}}, false)
	assert.Regexp(t, `REGISTER +HEX +INT16 +UINT16 +INT32 .*FLOAT32° *\n`, out.String())
	assert.Regexp(t, `holding 10 .* 21\.5 *\n`, out.String())
	assert.NotContains(t, out.String(), "FLOAT64")
}
