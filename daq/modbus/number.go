package modbus

import (
	"fmt"
	"strconv"
)

// The first digit of the number under which manuals list what a function
// reads; coils have none, or 0.
var leading = map[byte]int{ReadCoils: 0, ReadDiscrete: 1, ReadInput: 3, ReadHolding: 4}

// Number is the number under which manuals list a protocol address: 1 to 9999
// for coils, 10001 to 19999 for discrete inputs, 30001 to 39999 for input and
// 40001 to 49999 for holding registers; with six digits beyond, for coils the
// first a 0. The functions that write have the numbers of what they write.
//
// Source: P: customary, in no edition of the specification; [2] section 4.4
// has the step of one between number and address.
func Number(function byte, start uint16) string {
	n := int(start) + 1
	first := leading[reading(function)]
	switch {
	case n > 9999:
		return fmt.Sprintf("%d%05d", first, n)
	case first == 0:
		return strconv.Itoa(n)
	}
	return fmt.Sprintf("%d%04d", first, n)
}

// Reads is the function that reads what the request is about.
func (r Request) Reads() byte { return reading(r.Function) }

func reading(function byte) byte {
	switch function {
	case WriteCoil, WriteCoils:
		return ReadCoils
	case WriteRegister, WriteRegisters:
		return ReadHolding
	}
	return function
}

// ParseNumber returns the function that reads what manuals list under a
// number, and its protocol address. Coils beyond 9999 need six digits, the
// first a 0.
func ParseNumber(text string) (function byte, start uint16, ok bool) {
	n, err := strconv.ParseUint(text, 10, 32)
	if err != nil || text[0] == '+' {
		return 0, 0, false
	}
	span, last := uint64(10000), uint64(9999)
	switch len(text) {
	case 1, 2, 3, 4, 5:
	case 6:
		span, last = 100000, 65536
	default:
		return 0, 0, false
	}
	within := n % span
	if within < 1 || within > last {
		return 0, 0, false
	}
	for f, first := range leading {
		if uint64(first) == n/span {
			return f, uint16(within - 1), true
		}
	}
	return 0, 0, false
}

// Place names what a request is about, as messages do: function, protocol
// address and number.
func (r Request) Place() string {
	last := int(r.Start) + int(r.Count) - 1
	what := "register"
	if r.coils() {
		what = "coil"
		if r.Function == ReadDiscrete {
			what = "input"
		}
	}
	if r.Count <= 1 {
		return fmt.Sprintf("function %d, %s %d (number %s)", r.Function, what, r.Start, Number(r.Function, r.Start))
	}
	return fmt.Sprintf("function %d, %ss %d to %d (numbers %s to %s)", r.Function, what, r.Start, last,
		Number(r.Function, r.Start), Number(r.Function, uint16(last)))
}
