package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
)

const trappedPoints = `points = [["0 bar", "0.02 bar"], ["250 bar", "250.05 bar"]]`

const trappedCurve = `coefficients = [-0.02, 0.9998]
unit = "bar"
span = ["0 bar", "250.05 bar"]
reference = "dead-weight tester, certificate R-7"
laboratory = "bench shop"
temperature = "23 °C"`

func TestCoefficientsCorrectInTheirUnit(t *testing.T) {
	b, err := bench.Parse("bench.toml", []byte(broken(t, small, trappedPoints, trappedCurve)))
	require.NoError(t, err)
	c, _, _ := b.Channel("trapped")
	require.True(t, c.Calibration.Corrects())
	assert.InDelta(t, (-0.02+0.9998*100)*1e5, c.Calibration.Correct(100e5), 1e-6)
	assert.InDelta(t, -3e5-0.02e5, c.Calibration.Correct(-3e5), 1e-6, "below the span its correction there")
	assert.InDelta(t, 260e5+(-0.02-0.0002*250.05)*1e5, c.Calibration.Correct(260e5), 1e-6, "and above")
	low, high, ok := c.Calibration.Span()
	assert.True(t, ok)
	assert.InDelta(t, -0.02e5, low, 1e-6)
	assert.InDelta(t, (-0.02+0.9998*250.05)*1e5, high, 1e-6)
	assert.Equal(t, "dead-weight tester, certificate R-7", c.Calibration.Reference)
	assert.Equal(t, "bench shop", c.Calibration.Laboratory)
	assert.InDelta(t, 296.15, c.Calibration.Temperature, 1e-9)
}

func TestFaultsOfCalibrations(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"coefficients beside points", []string{trappedPoints, trappedPoints + "\n" + trappedCurve}, []string{
			`bench.toml:45: channel "trapped": calibration: points: found [["0 bar", "0.02 bar"], ["250 bar", "250.05 bar"]], want no such key here (coefficients say it already)`}},
		{"no unit, no span", []string{trappedPoints, `coefficients = [0, 1]`}, []string{
			`bench.toml:40: channel "trapped": calibration: unit: found nothing, want the unit of the coefficients, a unit of pressure, e.g. "bar"`,
			`bench.toml:40: channel "trapped": calibration: span: found nothing, want the indications from which to which the polynomial was compared with the reference, the lower one first`}},
		{"a unit of something else", []string{trappedPoints, "coefficients = [0, 1]\nunit = \"mA\"\nspan = [\"0 bar\", \"1 bar\"]"}, []string{
			`bench.toml:46: channel "trapped": calibration: unit: found "mA", want the unit of the coefficients, a unit of pressure, e.g. "bar"`}},
		{"falling", []string{trappedPoints, "coefficients = [0, 1, -0.01]\nunit = \"bar\"\nspan = [\"0 bar\", \"250 bar\"]"}, []string{
			`bench.toml:45: channel "trapped": calibration: coefficients: found a polynomial that does not rise all over its span, want a correction: a higher indication always means a higher reference`}},
		{"a pressure that would not be seen", []string{trappedPoints, `points = [["0 bar", "100 bar"], ["150 bar", "250 bar"]]`}, []string{
			`bench.toml:45: channel "trapped": calibration: points: found a correction of 100 bar, want at most a tenth of the channel's range, 25 bar; points are pairs of reference and indicated`}},
		{"half of what is indicated", []string{trappedPoints, "coefficients = [0, 0.5]\nunit = \"bar\"\nspan = [\"0 bar\", \"250 bar\"]"}, []string{
			`bench.toml:45: channel "trapped": calibration: coefficients: found a correction of 125 bar, want at most a tenth of the channel's range, 25 bar; points are pairs of reference and indicated`}},
		{"span without coefficients", []string{trappedPoints, trappedPoints + "\nspan = [\"0 bar\", \"1 bar\"]\nunit = \"bar\""}, []string{
			`bench.toml:46: channel "trapped": calibration: span: found ["0 bar", "1 bar"], want no such key here (beside coefficients only)`,
			`bench.toml:47: channel "trapped": calibration: unit: found "bar", want no such key here (beside coefficients only)`}},
		{"apart and in the channel", []string{`temperature = "body"`, "temperature = \"body\"\n" + apart("trapped")}, []string{
			`bench.toml:40: channel "trapped": calibration: found a second calibration of this channel, want either [channel.calibration] or [[calibration]] with channel = "trapped"`}},
		{"of no channel", []string{`temperature = "body"`, "temperature = \"body\"\n" + apart("traped")}, []string{
			`bench.toml:77: calibration 1: channel: found "traped", want a measuring channel of the bench (trapped, feed, body, room)`}},
		{"twice", []string{`temperature = "body"`, "temperature = \"body\"\n" + apart("feed") + apart("feed")}, []string{
			`bench.toml:83: calibration 2: channel: found "feed" a second time, want another calibration of this channel (first in line 77)`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := bench.Parse("bench.toml", []byte(broken(t, small, c.edits...)))
			assert.Equal(t, c.want, lines(err))
		})
	}
}

// apart is a [[calibration]] of a channel.
func apart(channel string) string {
	return "[[calibration]]\nchannel = \"" + channel + "\"\ncertificate = \"C-2\"\ndate = 2026-05-02\ndue = 2027-05-02\nuncertainty = \"0.04 bar\"\n"
}

func TestSimulatedTransducersAreReadStrictly(t *testing.T) {
	text := broken(t, small, `name = "1"`, "name = \"1\"", `temperature = "body"`, "temperature = \"body\"\n[simulated]\n[[simulated.transducer]]\nchannel = \"trapped\"\noffset = \"-0.1 bar\"\ngain = \"0.2 %\"")
	b, err := bench.Parse("bench.toml", []byte(text))
	require.NoError(t, err)
	require.Len(t, b.Simulated.Transducers, 1)
	w := b.Simulated.Transducers[0]
	assert.Equal(t, "trapped", w.Channel)
	assert.InDelta(t, -0.1e5, w.Offset, 1e-9)
	assert.InDelta(t, 0.002, w.Gain, 1e-12)
	assert.Zero(t, w.Hysteresis)
	_, err = bench.Parse("bench.toml", []byte(broken(t, text, `channel = "trapped"`+"\n"+`offset = "-0.1 bar"`, `channel = "traped"`+"\n"+`offset = "1 K"`)))
	assert.Equal(t, []string{`bench.toml:78: simulated: transducer 1: channel: found "traped", want the name of a channel`}, lines(err))
}

func TestRecalibrateTakesTheBlocksOfAFile(t *testing.T) {
	b, err := bench.Parse("bench.toml", []byte(small))
	require.NoError(t, err)
	before := b.Channels
	channels, err := b.Recalibrate("shop/new.toml", []byte(apart("trapped")))
	require.NoError(t, err)
	assert.Equal(t, []string{"trapped"}, channels)
	c, _, _ := b.Channel("trapped")
	assert.Equal(t, "C-2", c.Calibration.Certificate)
	assert.Equal(t, "new.toml", c.Calibration.Source)
	assert.False(t, c.Calibration.Corrects())
	assert.Equal(t, "C-1", before[0].Calibration.Certificate, "who had the channels before keeps them")

	_, err = b.Recalibrate("new.toml", []byte("[[calibration]]\nchannel = \"oil\"\n"))
	assert.Equal(t, []string{
		`new.toml:1: calibration 1: certificate: found nothing, want a text in quotes, on one line`,
		`new.toml:1: calibration 1: date: found nothing, want a date without quotes, e.g. 2026-03-02`,
		`new.toml:1: calibration 1: due: found nothing, want a date without quotes, e.g. 2026-03-02`,
		`new.toml:2: calibration 1: channel: found "oil", want a measuring channel of the bench (trapped, feed, body, room)`,
	}, lines(err))
	_, err = b.Recalibrate("new.toml", []byte(""))
	assert.Equal(t, []string{`new.toml:1: calibration: found nothing, want at least one table [[calibration]]`}, lines(err))
}
