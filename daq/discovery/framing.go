package discovery

import (
	"fmt"
	"strconv"
	"strings"

	"holdbench/daq/link"
)

// Framing is how characters go over a serial line.
type Framing struct {
	Baud     int
	DataBits int    // 7 or 8
	Parity   string // "none", "even" or "odd"
	StopBits int    // 1 or 2
}

// ModbusFramings are the framings that Modbus instruments are found with, the
// likely first. 19200 8E1 is what the specification has as the default ([1]
// section 2.5.1, mark M); 9600 8N1 is what many leave the works with (P).
var ModbusFramings = []Framing{
	{19200, 8, "even", 1}, {9600, 8, "none", 1}, {9600, 8, "even", 1}, {19200, 8, "none", 1},
	{115200, 8, "none", 1}, {38400, 8, "none", 1}, {57600, 8, "none", 1}, {38400, 8, "even", 1},
	{115200, 8, "even", 1}, {57600, 8, "even", 1}, {4800, 8, "none", 1}, {4800, 8, "even", 1},
	{9600, 8, "odd", 1}, {19200, 8, "odd", 1}, {2400, 8, "none", 1}, {2400, 8, "even", 1},
}

// TextFramings are the framings that instruments send text with, the likely
// first (P).
var TextFramings = []Framing{
	{9600, 8, "none", 1}, {115200, 8, "none", 1}, {19200, 8, "none", 1}, {38400, 8, "none", 1}, {57600, 8, "none", 1},
	{4800, 8, "none", 1}, {2400, 8, "none", 1}, {1200, 8, "none", 1},
	{9600, 7, "even", 1}, {9600, 8, "even", 1}, {2400, 7, "even", 1}, {1200, 7, "even", 1}, {9600, 7, "odd", 1},
}

var parityLetters = map[string]string{"": "N", "none": "N", "even": "E", "odd": "O"}

// String is e.g. "19200 8E1".
func (f Framing) String() string {
	return fmt.Sprintf("%d %d%s%d", f.Baud, f.DataBits, parityLetters[f.Parity], f.StopBits)
}

// Frame is the part after the baud, e.g. "8E1".
func (f Framing) Frame() string { return strings.TrimPrefix(f.String(), strconv.Itoa(f.Baud)+" ") }

// ParseFrame reads data bits, parity and stop bits, e.g. "8E1"; Baud is 0.
func ParseFrame(text string) (Framing, error) {
	text = strings.ToUpper(strings.TrimSpace(text))
	for _, data := range []int{7, 8} {
		for _, parity := range []string{"none", "even", "odd"} {
			for _, stop := range []int{1, 2} {
				if f := (Framing{0, data, parity, stop}); f.Frame() == text || f.String() == text {
					return f, nil
				}
			}
		}
	}
	return Framing{}, fmt.Errorf("found %q, want data bits, parity and stop bits, e.g. 8E1 or 8N1", text)
}

// Config is the framing put into a port's configuration.
func (f Framing) Config(c link.Config) link.Config {
	c.Baud, c.DataBits, c.Parity, c.StopBits = f.Baud, f.DataBits, f.Parity, f.StopBits
	return c
}
