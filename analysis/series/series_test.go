package series

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
)

func ten() Column {
	c := Column{Name: "trapped_a", Quantity: si.Pressure}
	for i := range 10 {
		c.Time = append(c.Time, float64(i))
		c.Value = append(c.Value, 100+float64(i))
	}
	return c
}

func TestWindowKeepsBothEnds(t *testing.T) {
	for name, row := range map[string]struct {
		from, to float64
		want     []float64
	}{
		"ends on readings":      {2, 4, []float64{2, 3, 4}},
		"ends between readings": {1.5, 4.5, []float64{2, 3, 4}},
		"before the first":      {-5, 1, []float64{0, 1}},
		"after the last":        {8, 100, []float64{8, 9}},
		"between two readings":  {2.1, 2.9, []float64{}},
		"turned round":          {4, 2, []float64{}},
		"outside":               {20, 30, []float64{}},
		"from unknown":          {math.NaN(), 5, []float64{}},
		"to unknown":            {5, math.NaN(), []float64{}},
	} {
		w := ten().Window(row.from, row.to)
		assert.Equal(t, row.want, w.Time, name)
		assert.Len(t, w.Value, len(w.Time), name)
		assert.Equal(t, "trapped_a", w.Name)
		assert.Equal(t, si.Pressure, w.Quantity)
		for i := range w.Time {
			assert.Equal(t, 100+w.Time[i], w.Value[i], name)
		}
	}
}

func TestAppendingToWindowLeavesColumn(t *testing.T) {
	c := ten()
	w := c.Window(2, 4)
	w.Value = append(w.Value, -1)
	w.Time = append(w.Time, -1)
	assert.Equal(t, ten(), c)
}

func TestValidDropsMissingReadings(t *testing.T) {
	c := ten()
	c.Value[0], c.Value[9] = math.NaN(), math.NaN()
	v := c.Valid()
	assert.Equal(t, 8, v.Len())
	assert.Equal(t, []float64{1, 2, 3, 4, 5, 6, 7, 8}, v.Time)
	assert.Equal(t, c.Name, v.Name)
	v.Value[0] = 0
	assert.Equal(t, 101.0, c.Value[1], "the copy shares nothing")
	assert.Zero(t, Column{}.Valid().Len())
}

func TestColumnByName(t *testing.T) {
	s := Series{Columns: []Column{{Name: "trapped_a"}, {Name: "oil"}}}
	c, ok := s.Column("oil")
	assert.True(t, ok)
	assert.Equal(t, "oil", c.Name)
	_, ok = s.Column("Oil")
	assert.False(t, ok)
}
