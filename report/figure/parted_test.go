package figure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLineIsPartedAtItsGaps(t *testing.T) {
	x := []float64{0, 1, 2, 3, 11, 12, 13, 20, 27}
	y := []float64{9, 8, 7, 6, 5, 4, 3, 2, 1}
	px, py := Parted(x, y)
	assert.Equal(t, []float64{0, 1, 2, 3, 7, 11, 12, 13, 16.5, 20, 27}, px)
	assert.True(t, math.IsNaN(py[4]))
	assert.True(t, math.IsNaN(py[8]))
	assert.Equal(t, 1.0, py[10])
	assert.Equal(t, []float64{9, 8, 7, 6, 5, 4, 3, 2, 1}, y, "what came in is not changed")
}

func TestLineWithoutGapsStaysWhole(t *testing.T) {
	for name, x := range map[string][]float64{
		"even": {0, 1, 2, 3, 4, 5}, "uneven": {0, 1, 5, 6, 7, 12}, "two points": {0, 100}, "none": nil,
	} {
		px, _ := Parted(x, make([]float64, len(x)))
		assert.Equal(t, x, px, name)
	}
}

func TestSlowerRateIsNoGap(t *testing.T) {
	var x []float64
	for i := range 100 {
		x = append(x, 0.1*float64(i))
	}
	for i := range 20 {
		x = append(x, 20+10*float64(i))
	}
	px, _ := Parted(x, make([]float64, len(x)))
	assert.LessOrEqual(t, len(px)-len(x), 1, "the change of the rate alone may break the line")
}
