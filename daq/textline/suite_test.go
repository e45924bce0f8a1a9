package textline_test

import (
	"fmt"
	"strings"
	"testing"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/textline"
)

func TestStreamKeepsTheContract(t *testing.T) {
	for name, c := range map[string]struct{ separator, comma, end string }{
		"comma, LF":              {",", ".", "\n"},
		"semicolon, CRLF":        {";", ".", "\r\n"},
		"decimal comma, tab, CR": {"\t", ",", "\r"},
		"spaces, CRLF":           {" ", ".", "\r\n"},
	} {
		t.Run(name, func(t *testing.T) {
			daqtest.Instrument(t, func(t *testing.T, cable *daqtest.Cable, port *link.Port) daqtest.Device {
				return daqtest.Device{
					Instrument: textline.NewStream(port, daq.NewWallClock(), textline.Config{Format: textline.Format{Separator: c.separator}, Fields: []textline.Field{{Column: 2}, {Column: 1}}}),
					Values:     []float64{21.5, -40},
					Say: func(v []float64) {
						line := fmt.Sprintf("%+.3f%s%+.3f", v[1], c.separator, v[0])
						cable.Send([]byte(strings.ReplaceAll(line, ".", c.comma) + c.end))
					},
					Mute: func() {},
				}
			})
		})
	}
}
