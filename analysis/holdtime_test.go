package analysis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
)

func prospectOfAHall() Prospect {
	return Prospect{
		Duration: 300, SinceLock: 60, TestPressure: 100 * bar, Noise: 0.01 * bar, Readings: 3000, TemperatureReadings: 1500, TemperatureChange: 0.2,
		Transducer: Transducer{Gain: 1e-3, Offset: 0.02 * bar, Drift: 0.1, Resolution: 100}, Thermometer: Thermometer{Resolution: 0.001},
		Known: decay.Characterised{ThermalCoefficient: normal(4.5*bar, 0.15*bar, si.ThermalCoefficient), Lag: normal(37, 8, si.Time)},
	}
}

// One rule says what the temperature does in holds of other lengths, however a
// length is reached.
func TestSwingBelongsToALengthOfHold(t *testing.T) {
	p := prospectOfAHall()
	for _, row := range []struct{ duration, steady, changing float64 }{{20, 0.2 / 15, 0.2 / 15}, {300, 0.2, 0.2}, {600, 0.2, 0.4}} {
		for _, by := range []float64{row.duration, 45, 300, 1000} {
			for _, earlier := range []bool{true, false} {
				q := p.Lasting(by, earlier)
				assert.InEpsilon(t, row.steady, q.Lasting(row.duration, true).TemperatureChange, 1e-12)
				assert.InEpsilon(t, row.changing, q.Lasting(row.duration, false).TemperatureChange, 1e-12)
			}
		}
	}
}

// What a plan says of the hold time that a limit needs is what the plan of a
// hold of that length says of itself, and every length names the same time.
func TestHoldTimeAgreesWithThePlanOfThatHold(t *testing.T) {
	p := prospectOfAHall()
	for _, limit := range []float64{0.5, 0.05, 0.02} {
		l := decayRate(limit * barPerMin)
		for _, steady := range []bool{true, false} {
			needed := outlook(t, p, l).HoldTime(steady).Duration
			if math.IsInf(needed, 1) {
				continue
			}
			require.Greater(t, needed, 10.0)
			assert.True(t, outlook(t, p.Lasting(math.Ceil(needed), steady), l).Resolves, "%g bar/min in %g s", limit, needed)
			assert.False(t, outlook(t, p.Lasting(0.95*needed, steady), l).Resolves, "%g bar/min in less than %g s", limit, needed)
			for _, other := range []float64{20, 60, 600} {
				assert.InEpsilon(t, needed, outlook(t, p.Lasting(other, true), l).HoldTime(steady).Duration, 0.021)
			}
		}
	}
}
