package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/series"
)

// A systematic error common to all readings, here of standard uncertainty
// 0.005, leaves the slope of a line as it is, and its level not: a gauge's
// offset does not matter to a rate.
//
// Source: JCGM 100:2008, H.3.6, with the data of table H.6 (mark V): slope
// 0.00218 (0.00067), level u 0.0029 without and 0.0058 with it.
func TestCommonOffsetLeavesTheRate(t *testing.T) {
	at := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	b := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	shifted := make([]float64, len(at))
	for i, v := range at {
		shifted[i] = v - 20
	}
	in := Input{
		Start: 0, End: 7, Locked: math.NaN(),
		Pressure:    series.Column{Time: shifted, Value: b},
		Temperature: series.Column{Time: []float64{0, 7}, Value: []float64{293, 293}},
		Known:       Characterised{ThermalCoefficient: exactly(1, 0)},
		Sink:        Sink{Pressure: *exactly(-1e9, 0)}, // so far away that only a line is left
	}
	plain := Fit(in, Options{ExactTemperature: true, After: []float64{0}})
	in.Transducer.Offset = 0.005
	offset := Fit(in, Options{ExactTemperature: true, After: []float64{0}})
	inflation := plain.Diagnostics.Inflation // for autocorrelation, which the GUM leaves out
	for _, r := range []Result{plain, offset} {
		assert.InDelta(t, -0.00218270, r.Estimates["decay_rate"].Value, 0.5e-8)
		assert.InDelta(t, 0.00066794, budgetLine(t, r.Estimates["decay_rate"], SourceNoise)/inflation, 0.5e-8)
	}
	assert.InDelta(t, plain.Estimates["decay_rate"].StdUncertainty, offset.Estimates["decay_rate"].StdUncertainty, 1e-9)
	assert.InDelta(t, 0.0028776, budgetLine(t, plain.After[0], SourceNoise)/inflation, 0.5e-7)
	with := math.Hypot(budgetLine(t, offset.After[0], SourceNoise)/inflation, budgetLine(t, offset.After[0], SourceOffset))
	assert.InDelta(t, 0.00577, with, 0.5e-5)
}
