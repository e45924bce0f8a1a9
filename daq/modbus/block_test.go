package modbus

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

var (
	oneRegister  = Format{Type: Int16}
	twoRegisters = Format{Type: Float32}
)

func requestsOf(blocks []block) []Request {
	var out []Request
	for _, b := range blocks {
		out = append(out, b.request)
	}
	return out
}

func ask(function byte, start, count uint16) Request {
	return Request{Address: 5, Function: function, Start: start, Count: count}
}

func TestPointsThatTouchAreReadTogether(t *testing.T) {
	blocks := group(5, []Point{
		{ReadInput, 10, twoRegisters}, {ReadInput, 9, oneRegister}, {ReadInput, 12, oneRegister},
		{ReadHolding, 9, oneRegister}, {ReadInput, 14, oneRegister}, {ReadInput, 65535, oneRegister},
		{ReadCoils, 9, Format{}}, {ReadCoils, 8, Format{}}, {ReadDiscrete, 9, Format{}},
	}, 0)
	assert.Equal(t, []Request{
		ask(ReadCoils, 8, 2), ask(ReadDiscrete, 9, 1),
		ask(ReadHolding, 9, 1), ask(ReadInput, 9, 4), ask(ReadInput, 14, 1), ask(ReadInput, 65535, 1),
	}, requestsOf(blocks))
	assert.Equal(t, []placed{
		{1, 0, Point{ReadInput, 9, oneRegister}}, {0, 1, Point{ReadInput, 10, twoRegisters}}, {2, 3, Point{ReadInput, 12, oneRegister}},
	}, blocks[3].points)
}

func TestGapsAreBridgedOnlyWhereAllowed(t *testing.T) {
	points := []Point{{ReadInput, 0, oneRegister}, {ReadInput, 3, twoRegisters}, {ReadInput, 9, oneRegister}}
	assert.Equal(t, []Request{ask(ReadInput, 0, 1), ask(ReadInput, 3, 2), ask(ReadInput, 9, 1)}, requestsOf(group(5, points, 0)))
	assert.Equal(t, []Request{ask(ReadInput, 0, 5), ask(ReadInput, 9, 1)}, requestsOf(group(5, points, 2)))
	blocks := group(5, points, 4)
	assert.Equal(t, []Request{ask(ReadInput, 0, 10)}, requestsOf(blocks))
	assert.EqualError(t, blocks[0].wrap(IllegalAddress), "address 5, function 4, registers 0 to 9 (numbers 30001 to 30010), "+
		"with those between that no channel reads: exception 2, illegal data address")
}

func TestNoRequestAsksForMoreThanAFrameCarries(t *testing.T) {
	for function, most := range map[byte]int{ReadInput: MaxRegisters, ReadCoils: MaxCoils} {
		var points []Point
		for i := range 3*most - 1 {
			points = append(points, Point{function, uint16(i), oneRegister})
		}
		blocks := group(5, points, 0)
		total := 0
		for _, b := range blocks {
			assert.NoError(t, b.request.Check())
			total += len(b.points)
		}
		assert.Equal(t, len(points), total)
		assert.Len(t, blocks, 3)
	}
}
