package procedure_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/procedure"
)

const zeroCheck = "[zero_check]\ntolerance = \"0.5 bar\"\n[phase.fill]"

func TestZeroCheckIsReadWithItsDefault(t *testing.T) {
	p, err := procedure.Parse("small.toml", []byte(small))
	require.NoError(t, err)
	assert.Nil(t, p.Zero, "nobody asked")
	p, err = procedure.Parse("small.toml", []byte(broken(t, small, "[phase.fill]", zeroCheck)))
	require.NoError(t, err)
	assert.Equal(t, &procedure.ZeroRule{Tolerance: 0.5e5, Duration: 10 * time.Second}, p.Zero)
	p, err = procedure.Parse("small.toml", []byte(broken(t, small, "[phase.fill]", "[zero_check]\ntolerance = \"500 mbar\"\nduration = \"1 min\"\n[phase.fill]")))
	require.NoError(t, err)
	assert.Equal(t, time.Minute, p.Zero.Duration)
}

func TestFaultsOfAZeroCheck(t *testing.T) {
	for _, c := range []struct {
		edit string
		want []string
	}{
		{"[zero_check]\n[phase.fill]", []string{
			`small.toml:13: zero_check: tolerance: found nothing, want a pressure change with unit, above zero, e.g. "2 bar"`}},
		{"[zero_check]\ntolerance = \"3 bar\"\nduration = \"1 s\"\n[phase.fill]", []string{
			`small.toml:14: zero_check: tolerance: found "3 bar", want at most safe_pressure: what is not safe is no zero`,
			`small.toml:15: zero_check: duration: found "1 s", want a time with unit, from "5 s" to "10 min"`}},
		{"[zero_check]\ntolerance = \"0.5 bar\"\nrepeat = 2\n[phase.fill]", []string{
			`small.toml:15: zero_check: repeat: found an unknown key, want one of duration, tolerance`}},
	} {
		_, err := procedure.Parse("small.toml", []byte(broken(t, small, "[phase.fill]", c.edit)))
		assert.Equal(t, c.want, lines(err))
	}
}
