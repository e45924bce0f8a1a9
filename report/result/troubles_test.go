package result

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
	"holdbench/daq/textline"
)

func TestTroublesInWords(t *testing.T) {
	at := func(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
	events := []daq.Event{
		{At: at(5), Until: at(8), Kind: daq.Gap, Subject: "module", Text: "no answer"},
		{At: at(103), Until: at(115), Kind: daq.Fault, Subject: "trapped_a", Text: daq.BrokenWire.String()},
		{At: at(110), Until: at(110.2), Kind: daq.Fault, Subject: "body", Text: daq.TooFast.String()},
		{At: at(120), Until: at(120.2), Kind: daq.Fault, Subject: "body", Text: daq.TooFast.String()},
		{At: at(150), Kind: daq.Note, Subject: "body", Text: "said"},
		{At: at(160), Until: at(160), Kind: daq.Fault, Subject: "pump", Text: "not driven"},
		{At: at(190), Until: daq.Open, Kind: daq.Fault, Subject: "feed", Text: daq.ShortCircuit.String()},
	}
	words := func(from, to float64) (out []string) {
		for _, tr := range troubles(inFull, events, at(from), at(to), at(300)) {
			out = append(out, tr.String())
		}
		return out
	}
	assert.Equal(t, []string{
		"module: no reading for 3 s at 5 s: no answer",
		"trapped_a: broken wire for 12 s at 103 s",
		"body: too fast, 2 times, 0.4 s in all, first at 110 s",
		"pump: not driven at 160 s",
		"feed: short circuit for 110 s at 190 s",
	}, words(0, 300))
	assert.Equal(t, []string{"trapped_a: broken wire for 12 s at 103 s"}, words(114, 118))
	assert.Empty(t, words(130, 140))
}

func TestACircuitIsConcernedByWhatItsThermometerNeeds(t *testing.T) {
	b := coupledBench(t, `"23 ± 0.02 °C"`, `"terminals"`)
	got := concernedBy(b, circuitOf("trapped", "body"))
	assert.Equal(t, map[string]bool{"trapped": true, "body": true, "terminals": true, "module": true}, got)
}

func circuitOf(trapped, temperature string) bench.Circuit {
	return bench.Circuit{Name: "a", Trapped: trapped, Temperature: temperature}
}

// An operator reads no addresses and no names of ports; gaps that differ in
// nothing else are one.
func TestCausesOfGapsInPlainWords(t *testing.T) {
	detail := "address 1, function 2, input 0 (number 10001): port rs485 (/dev/ttyUSB0): "
	for text, want := range map[string]string{
		detail + link.ErrGone.Error() + ": Port has been closed":       "the port was gone",
		"line rs485: the port is gone":                                 "the port was gone",
		detail + modbus.ErrNoAnswer.Error() + ": nothing came in time": "no answer",
		detail + modbus.ErrGarbled.Error() + ": nothing came in time":  "what came could not be read",
		detail + modbus.ErrForeign.Error() + ": nothing came in time":  "another instrument answered",
		detail + modbus.Exception(2).Error():                           "the instrument refused to answer",
		detail + link.ErrTimeout.Error():                               "nothing came",
		textline.ErrSilent.Error():                                     "nothing came",
		textline.ErrGarbled.Error():                                    "what came could not be read",
		textline.ErrOther.Error() + ": it is not TX-2":                 "another instrument answered",
		"a failure that nobody has seen yet, at /dev/ttyUSB0":          "",
	} {
		assert.Equal(t, want, plainCause(text), text)
	}
	at := func(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
	events := []daq.Event{
		{At: at(5), Until: at(17), Kind: daq.Gap, Subject: "module", Text: detail + link.ErrGone.Error()},
		{At: at(50), Until: at(53), Kind: daq.Gap, Subject: "module", Text: "line rs485: the port is gone"},
		{At: at(90), Until: at(92), Kind: daq.Gap, Subject: "module", Text: "strange"},
	}
	all := troubles(plainCause, events, 0, at(100), at(100))
	require.Len(t, all, 2)
	assert.Equal(t, "module: no reading, 2 times, 15 s in all, first at 5 s: the port was gone", all[0].String())
	assert.Equal(t, "module: no reading for 2 s at 90 s", all[1].String())
}
