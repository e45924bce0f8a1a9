package bench_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/discovery"
)

func draft(t *testing.T) bench.Draft {
	place := func(text string) []string {
		p, err := discovery.ParsePlace(text)
		require.NoError(t, err)
		return bench.PlaceKeys(p)
	}
	return bench.Draft{
		Name: `Bench "3"`, Location: "Hall 2", Made: "made by holdbench bench new on 2026-03-02",
		Links: []bench.DraftLink{
			{Name: "rs485", Where: `port = "/dev/ttyUSB0"`, Framing: discovery.ModbusFramings[0], Timeout: 300 * time.Millisecond},
			{Name: "tcp", Where: `port = "tcp://10.0.0.7:502"`, TCP: true, Timeout: time.Second},
			{Name: "text", Where: `usb = { vendor = "0403", product = "6001", serial = "A1" }`, WhereNote: "/dev/ttyUSB1 when this was made", Framing: discovery.TextFramings[0]},
		},
		Instruments: []bench.DraftInstrument{
			{Name: "module_1", Kind: bench.ModbusRTU, Link: "rs485", Address: 1, Interval: 100 * time.Millisecond},
			{Name: "unit", Kind: bench.ModbusTCP, Link: "tcp", Address: -1, Interval: 200 * time.Millisecond},
			{Name: "probe", Kind: bench.TextStream, Link: "text", Address: -1, Interval: 500 * time.Millisecond,
				Keys: []string{`separator = ";"`}, Note: `sends e.g. "21.5;22.0"`},
		},
		Channels: []bench.DraftChannel{
			{Name: "trapped_a", Quantity: si.Pressure, Instrument: "module_1", Place: place("input 0 int16"), Note: "moved from 4003 to 10400",
				RawScale: 0.001, RawUnit: "mA", Conversion: []string{`scaling = [["4 mA", "0 bar"], ["20 mA", "250 bar"]]`},
				RangeLow: "0 bar", RangeHigh: "250 bar", Accuracy: "0.25 bar",
				Certificate: "C-1", Date: "2026-03-02", Due: "2027-03-02", Uncertainty: "0.05 bar"},
			{Name: "feed", Quantity: si.Pressure, Instrument: "unit", Place: place("holding 10 float32 low-first bytes low-first"), RawUnit: "psi", Absolute: true},
			{Name: "body", Quantity: si.Temperature, Instrument: "probe", Place: []string{"column = 1"}, RawUnit: "°C"},
		},
		Circuits: []bench.Circuit{
			{Name: "a", Trapped: "trapped_a", Feed: "feed", Temperature: "body"},
		},
	}
}

func TestDraftIsABenchFile(t *testing.T) {
	text := draft(t).Text()
	b, err := bench.Parse("bench.toml", []byte(text))
	require.NoError(t, err, text)
	assert.Equal(t, `Bench "3"`, b.Name)
	assert.Equal(t, "even", b.Links[0].Parity)
	assert.Equal(t, 300*time.Millisecond, b.Links[0].Timeout)
	assert.Equal(t, "0403", b.Links[2].USB.Vendor)
	assert.Equal(t, 1, b.Instruments[0].Address)
	trapped, _, _ := b.Channel("trapped_a")
	assert.Equal(t, 4, trapped.Function)
	assert.Equal(t, 0.001, trapped.RawScale)
	assert.Equal(t, 250e5, trapped.RangeHigh)
	assert.Equal(t, "C-1", trapped.Calibration.Certificate)
	feed, _, _ := b.Channel("feed")
	assert.True(t, feed.Absolute)
	assert.True(t, feed.Format().LowWordFirst)
	assert.True(t, feed.Format().LowByteFirst)
	position, ok := b.Position("1")
	require.True(t, ok)
	assert.Equal(t, "body", position.Circuits[0].Temperature)
	assert.Equal(t, 2, strings.Count(text, "TODO certificate"), "of feed and body")
	assert.Equal(t, 2, strings.Count(text, "TODO accuracy"))
	for line := range strings.Lines(text) {
		assert.LessOrEqual(t, len([]rune(line)), 140, line)
	}
}

func TestDraftWithoutWhatIsNotKnown(t *testing.T) {
	d := draft(t)
	d.Circuits = nil
	text := d.Text()
	_, err := bench.Parse("bench.toml", []byte(text))
	require.NoError(t, err, text)
	assert.Contains(t, text, "# TODO position")
	d.Circuits = []bench.Circuit{{Name: "a", Trapped: "trapped_a", FeedUnmeasured: true}}
	text = d.Text()
	b, err := bench.Parse("bench.toml", []byte(text))
	require.NoError(t, err, text)
	assert.True(t, b.Positions[0].Circuits[0].FeedUnmeasured)
	assert.Contains(t, text, "# TODO temperature of circuit a")
}
