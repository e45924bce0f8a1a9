package main

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
)

// A transducer that hangs on the module, but in no position, is no reason to
// refuse a test; one that only the surroundings or a thermocouple need is.
func TestOnlyWhatTakesPartIsRefusedWhenOverdue(t *testing.T) {
	spare := `
[[channel]]
name = "spare"
quantity = "pressure"
instrument = "module"
function = 4
register = 30
type = "int16"
raw_unit = "bar"
reference = "gauge"
range = ["0 bar", "250 bar"]
`
	lapsed := func(channel, unit string) string {
		return "\n[[calibration]]\nchannel = \"" + channel + "\"\ncertificate = \"T-9\"\ndate = 2025-01-01\ndue = 2026-01-01\nuncertainty = \"0.1 " + unit + "\"\n"
	}
	at := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	refused := func(text string) (warned string, err error) {
		b, err := bench.Parse("bench.toml", []byte(text))
		require.NoError(t, err)
		var warn strings.Builder
		err = refuseOverdue(&warn, b, b.Positions[0], at)
		return warn.String(), err
	}
	base := craneFile(t, "bench.toml") + spare

	warned, err := refused(base + lapsed("spare", "bar"))
	require.NoError(t, err)
	assert.Equal(t, "warning: channel spare: its calibration was due on 2026-01-01; it takes no part in tests at position 1\n", warned)

	text := base + lapsed("room", "K")
	warned, err = refused(text)
	assert.Empty(t, warned)
	require.ErrorContains(t, err, `channel "room": calibration: due: found 2026-01-01, which is past`)
	before, _, _ := strings.Cut(text, "due = 2026-01-01")
	assert.ErrorContains(t, err, "bench.toml:"+strconv.Itoa(1+strings.Count(before, "\n"))+": ", "the line of due")
}

// What another channel's reading rests upon takes part with it.
func TestWhatAChannelNeedsTakesPartWithIt(t *testing.T) {
	b, err := bench.Parse("bench.toml", []byte(craneFile(t, "bench.toml")))
	require.NoError(t, err)
	assert.Equal(t, map[string]bool{"trapped_a": true, "feed": true, "body": true, "room": true}, b.Needed(b.Positions[0]))
	b.Channels = append(b.Channels, bench.Channel{Name: "terminals"}, bench.Channel{Name: "supply"})
	b.Channels[2].ColdJunction.Channel, b.Channels[0].Excitation.Channel = "terminals", "supply"
	needed := b.Needed(b.Positions[0])
	assert.True(t, needed["terminals"] && needed["supply"])
}
