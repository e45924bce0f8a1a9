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
				clock := daq.NewWallClock()
				stream := textline.NewStream(port, clock, textline.Config{Format: textline.Format{Separator: c.separator}, Fields: []textline.Field{{Column: 2}, {Column: 1}}})
				say := func(first, second string) {
					line := strings.ReplaceAll(second+c.separator+first, ".", c.comma)
					cable.Send([]byte(line + c.end))
				}
				return daqtest.Device{
					Instrument: stream, Stamp: stream.Stamp, Clock: clock, Streams: true,
					Counted: func() int { return stream.Counts().Garbled + stream.Counts().Passed },
					Values:  []float64{21.5, -40},
					Say:     func(v []float64) { say(fmt.Sprintf("%+.3f", v[0]), fmt.Sprintf("%+.3f", v[1])) },
					Sick:    sick(func(word string) { say(word, "-40.000") }),
					Mute:    func() {},
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
				clock := daq.NewWallClock()
				line := textline.NewDialogue(port, clock)
				asked := textline.NewAsked(line, c)
				return daqtest.Device{
					Instrument: asked, Stamp: asked.Stamp, Clock: clock,
					Counted: func() int { n := line.Counts(); return n.Garbled + n.Passed + n.Late + n.Doubted + n.Stray },
					Values:  []float64{21.5, -40},
					Say:     func(v []float64) { reply = fmt.Sprintf("%+.3E,%+.2f", v[1], v[0]) },
					Sick:    sick(func(word string) { reply = "-4.000E+01," + word }),
					Mute:    func() { reply = "" },
				}
			})
		})
	}
}

// sick says that there is no number, in each way that instruments have.
func sick(say func(word string)) map[daq.Health]func() {
	out := map[daq.Health]func(){}
	for health, word := range map[daq.Health]string{daq.OverRange: "9.9E37", daq.UnderRange: "-9.9E37", daq.Invalid: "9.91E37", daq.Missing: "----"} {
		out[health] = func() { say(word) }
	}
	return out
}
