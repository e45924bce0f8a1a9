package analysis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// plain is a record of one hold from 15 s to 315 s; released at its end.
func plain(seed uint64, level float64) *madeRecord {
	m := newRecord(seed, 0.1)
	m.idle(5)
	m.ramp(level, 10)
	m.idle(300)
	m.release(0, 3)
	m.idle(20)
	return m
}

func TestStatedHoldOverrides(t *testing.T) {
	t.Parallel()
	m := plain(1, 100)
	for name, row := range map[string]struct {
		from, to, start, end float64
		notes                int
	}{
		"both ends":       {50, 200, 50, 200, 0},
		"open beginning":  {math.NaN(), 200, 0, 200, 0},
		"open end":        {50, math.Inf(1), 50, m.trapped.Time[m.trapped.Len()-1], 0},
		"beyond the ends": {-20, 1e6, 0, m.trapped.Time[m.trapped.Len()-1], 1},
	} {
		f, reason := FindHold(m.trapped, noFeed, FindOptions{Given: true, From: row.from, To: row.to})
		require.Empty(t, reason, name)
		assert.InDelta(t, row.start, f.Start, 1e-9, name)
		assert.InDelta(t, row.end, f.End, 1e-9, name)
		assert.Equal(t, HoldGiven, f.Method, name)
		assert.Len(t, f.Notes, row.notes, name)
		assert.Contains(t, f.How, "hold as stated: from ", name)
		assert.LessOrEqual(t, f.Start, f.End, name)
	}
	f, _ := FindHold(m.trapped, noFeed, FindOptions{Given: true, From: 50, To: 200})
	assert.InDelta(t, 15, f.Locked, 0.5, "the instant of locking still comes from the pressure")
	f, _ = FindHold(m.trapped, noFeed, FindOptions{Given: true, From: 1, To: 200})
	assert.True(t, math.IsNaN(f.Locked), "locked after the stated start")
}

func TestStatedHoldThatCannotBe(t *testing.T) {
	t.Parallel()
	m := plain(1, 100)
	for name, row := range map[string]struct {
		from, to float64
		want     string
	}{
		"ends before it begins": {200, 50, "the stated hold from 200 s to 50 s does not end after it begins"},
		"no length":             {50, 50, "does not end after it begins"},
		"behind the record":     {1000, 2000, "fewer than 5 valid pressure readings: the record reaches from 0 s to 337.9 s"},
		"before the record":     {-20, -10, "fewer than 5 valid pressure readings"},
		"four readings":         {50, 50.35, "fewer than 5 valid pressure readings"},
	} {
		f, reason := FindHold(m.trapped, noFeed, FindOptions{Given: true, From: row.from, To: row.to})
		assert.Contains(t, reason, row.want, name)
		assert.Zero(t, f, name)
	}
}

func TestReasonWhereThereIsNoHold(t *testing.T) {
	t.Parallel()
	column := func(n int, p func(i int) float64) series.Column {
		c := series.Column{Quantity: si.Pressure}
		for i := range n {
			c.Time, c.Value = append(c.Time, float64(i)), append(c.Value, p(i))
		}
		return c
	}
	for name, row := range map[string]struct {
		c    series.Column
		want string
	}{
		"empty":             {series.Column{}, "0 valid pressure readings, 5 are needed"},
		"no valid reading":  {column(100, func(int) float64 { return math.NaN() }), "0 valid pressure readings"},
		"infinite readings": {column(100, func(int) float64 { return math.Inf(1) }), "0 valid pressure readings"},
		"four readings":     {column(4, func(int) float64 { return 100 * bar }), "4 valid pressure readings"},
		"zero":              {column(100, func(int) float64 { return 0 }), "no pressure in the record that stands clear of its noise"},
		"below zero":        {column(100, func(i int) float64 { return -1e5 - float64(i) }), "no pressure in the record"},
		"noise around zero": {newNoise(2000), "no pressure in the record that stands clear of its noise"},
		"ends as it is pressed up": {column(100, func(i int) float64 { return max(0, float64(i-90)*10*bar) }),
			"never stays up for 5 readings after it was pumped"},
	} {
		f, reason := FindHold(row.c, noFeed, FindOptions{})
		assert.Contains(t, reason, row.want, name)
		assert.Zero(t, f, name)
	}
}

func newNoise(n int) series.Column {
	m := newRecord(9, 0.1)
	m.noise = 1
	m.idle(float64(n) * m.dt)
	return m.trapped
}

func TestHowSpeaksTheChosenUnit(t *testing.T) {
	m := plain(2, 100)
	psi, err := si.ParseDisplay("psi", "")
	require.NoError(t, err)
	f, _ := FindHold(m.trapped, noFeed, FindOptions{Display: psi})
	assert.Regexp(t, `^hold found from the pressure: pressed up to 14(49|50|51) psi at 15(\.\d)? s, steady from 21(\.\d)? s to 314\.\d s, then released$`, f.How)
	f, _ = FindHold(m.trapped, noFeed, FindOptions{})
	assert.Regexp(t, `pressed up to (99\.9\d|100\.0) bar at 15`, f.How)
}

// A plateau no longer than its press-up may be a pump that pushed against a
// unit that holds nothing.
func TestPressureGoneSoonAfterPressUpIsDoubtful(t *testing.T) {
	m := newRecord(5, 0.1)
	m.idle(5)
	m.ramp(100, 10)
	m.idle(6)
	m.release(0, 2)
	m.idle(300)
	f, reason := FindHold(m.trapped, noFeed, FindOptions{})
	require.Empty(t, reason)
	assert.Contains(t, f.Notes, "the pressure was gone soon after the press-up: if it was not released, the unit lost it; state the hold to judge that")
}

func TestColumnsAreLeftAsTheyAre(t *testing.T) {
	t.Parallel()
	m := plain(6, 100)
	m.trapped.Value[500] = math.NaN()
	before := changed(m.trapped, unchanged, unchanged)
	FindHold(m.trapped, m.fed, FindOptions{})
	assert.Equal(t, before.Time, m.trapped.Time)
	for i := range before.Value {
		require.Equal(t, math.Float64bits(before.Value[i]), math.Float64bits(m.trapped.Value[i]))
	}
}
