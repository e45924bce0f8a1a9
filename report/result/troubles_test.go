package result

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/daq"
	"holdbench/daq/bench"
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
		for _, tr := range troubles(events, at(from), at(to), at(300)) {
			out = append(out, tr.String())
		}
		return out
	}
	assert.Equal(t, []string{
		"module: no reading (no answer) for 3 s at 5 s",
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
