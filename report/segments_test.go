package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis"
	"holdbench/report/result"
)

// The limit's line starts anew at each segment's own level.
func TestLimitLineRestartsAtEachSegment(t *testing.T) {
	a := analysis.Assessment{Start: 0, End: 30}
	a.Curves.Time = []float64{0, 5, 10, 12, 16, 20, 22, 26, 30}
	a.Curves.Fitted = []float64{100, 99, 98, 99.5, 98.5, 97.5, 101, 100, 99}
	a.Diagnostics.Segments = 3
	h := hold{segments: segmentsOf(a)}
	assert.Equal(t, []segment{{0, 10, 100}, {12, 20, 99.5}, {22, 30, 101}}, h.segments)
	x, y := h.fallingAt(0.5)
	require.Len(t, y, 8)
	assert.Equal(t, []float64{0, 10, 12, 12, 20, 22, 22, 30}, x)
	assert.True(t, math.IsNaN(y[2]) && math.IsNaN(y[5]))
	assert.Equal(t, 95.0, y[1])
	assert.Equal(t, 95.5, y[4])

	a.Diagnostics.Segments = 0
	assert.Equal(t, []segment{{0, 30, 100}}, segmentsOf(a), "what rises a little is no segment")
}

func TestLimitInPerCentIsShownAsWritten(t *testing.T) {
	share, ok := writtenShare(result.Limit{Written: "0.5 %/min of the test pressure, 0.500 bar/min"})
	assert.True(t, ok)
	assert.Equal(t, "0.5 %/min of the test pressure", share)
	_, ok = writtenShare(result.Limit{Written: "0.5 bar/min"})
	assert.False(t, ok)
}
