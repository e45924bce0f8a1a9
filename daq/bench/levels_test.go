package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A calibration that comes later is refused where the bench file's own would
// be: its uncertainty would be left out, and nobody would know.
func TestLaterCalibrationOfAnExcitationOfNoKnownLevelIsRefused(t *testing.T) {
	const certificate = "[[calibration]]\nchannel = \"supply\"\ncertificate = \"C-9\"\ndate = 2026-01-01\ndue = 2027-01-01\nuncertainty = \"0.01 V\"\n"
	b := parsed(t, couples)
	_, err := b.Recalibrate("new.toml", []byte(certificate))
	require.EqualError(t, err, `new.toml:2: calibration 1: channel: found "supply", whose accuracy or calibration is stated and whose range does not begin above zero, want a channel with the range of the excitation itself, e.g. range = ["9.5 V", "10.5 V"]: what it is wrong by counts in relation to that`)
	c, _, _ := b.Channel("supply")
	assert.Nil(t, c.Calibration, "the bench is unchanged")

	ranged := parsed(t, broken(t, couples, "raw_unit = \"V\"\n", "raw_unit = \"V\"\nrange = [\"9.5 V\", \"10.5 V\"]\n"))
	names, err := ranged.Recalibrate("new.toml", []byte(certificate))
	require.NoError(t, err)
	assert.Equal(t, []string{"supply"}, names)
}
