package result

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
)

// Every probe of a circuit's list comes into its hold with its own figures,
// and is listed among the instruments.
func TestMoreProbesOfACircuitComeIntoItsHold(t *testing.T) {
	b, p := benchNine(t)
	known, _ := derived(decay.Characterised{}, b, p, "a", 295.15, "")
	_, _, run, err := Assess(recorded(t, known.ThermalCoefficient.Value), Options{Number: 1, Program: "test"})
	require.NoError(t, err)
	c := run.Position.Circuits[0]
	require.Empty(t, run.hold(c).MoreProbes)
	before := len(instruments(run))
	c.MoreTemperatures = []string{"body"} // the bench has no other
	run.Position.Circuits[0] = c
	h := run.hold(c)
	require.Len(t, h.MoreProbes, 1)
	assert.Equal(t, h.Temperature, h.MoreProbes[0].Column)
	assert.Equal(t, h.TemperatureInterval, h.MoreProbes[0].Interval)
	assert.Equal(t, h.Thermometer.Resolution, h.MoreProbes[0].Resolution)
	assert.Len(t, instruments(run), before+1)
}
