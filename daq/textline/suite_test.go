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

func TestAskedKeepsTheContract(t *testing.T) {
	for name, identify := range map[string]string{"*IDN?": "*IDN?", "another question": "WHO", "no question": "", "no answer to it": "*ID?"} {
		t.Run(name, func(t *testing.T) {
			daqtest.Instrument(t, func(t *testing.T, cable *daqtest.Cable, port *link.Port) daqtest.Device {
				reply := ""
				cable.Heard = func(b []byte) {
					switch q := strings.TrimSpace(string(b)); {
					case reply == "":
					case q == "*IDN?" || q == "WHO":
						cable.Send([]byte("Example,TX-2,0042,1.3\r\n"))
					case q == "READ?":
						cable.Send([]byte(reply + "\r\n"))
					}
				}
				c := textline.AskConfig{Name: "meter", Format: textline.Format{Separator: ","}, Identify: identify,
					Queries: []textline.Query{{Text: "READ?", Fields: []textline.Field{{Column: 2}, {Column: 1}}, Signals: []int{0, 1}}}}
				return daqtest.Device{
					Instrument: textline.NewAsked(textline.NewDialogue(port, daq.NewWallClock()), c),
					Values:     []float64{21.5, -40},
					Say:        func(v []float64) { reply = fmt.Sprintf("%+.3E,%+.2f", v[1], v[0]) },
					Mute:       func() { reply = "" },
				}
			})
		})
	}
}
