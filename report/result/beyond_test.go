package result

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/bench"
	"holdbench/daq/sequence"
)

func TestReadingsBeyondTheCalibrationAreSaid(t *testing.T) {
	r, _ := checked(2000, 2000)
	r.Windows = map[string]sequence.Window{"a": {HoldStart: 300, HoldEnd: 7500}}
	ch := bench.Channel{Name: "trapped", Calibration: &bench.Calibration{Points: []bench.CalibrationPoint{{Reference: 0}, {Reference: 80e5, Indicated: 80.1e5}}}}
	r.Bench = &bench.Bench{Channels: []bench.Channel{ch}}
	assert.Equal(t, []string{"trapped read from 100.0 to 100.0 bar in the hold and is calibrated from 0.0 to 80.0 bar: beyond that the correction of the nearer end was used"}, beyondCalibration(r))
	r.Bench.Channels[0].Calibration.Points[1].Reference = 120e5
	assert.Empty(t, beyondCalibration(r))
	r.Bench.Channels[0].Calibration.Points = nil
	assert.Empty(t, beyondCalibration(r), "used as indicated: nothing is corrected")
}
