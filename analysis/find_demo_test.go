package analysis

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// The recording's own events say: pressed up from 10 s (100 bar are reached
// at about 18 s and kept up until locking), locked at 25 s, feed let down from
// 30 s, held from 100 s to 400 s, released at 400 s. Mark D.
func TestHoldOfDemoRecordingAgreesWithItsEvents(t *testing.T) {
	trapped, feed := demoColumns(t)
	for name, row := range map[string]struct {
		feed     series.Column
		earliest float64
		how      string
	}{
		"pressure alone":  {noFeed, 18, "pressed up to 100.0 bar"},
		"with the feed's": {feed, 30, "feed let down at 3"},
	} {
		f, reason := FindHold(trapped, row.feed, FindOptions{})
		require.Empty(t, reason, name)
		t.Logf("%s: %.1f to %.1f s, locked %.1f s: %s", name, f.Start, f.End, f.Locked, f.How)
		assert.Equal(t, HoldFound, f.Method, name)
		assert.GreaterOrEqual(t, f.Locked, 17.5, name)
		assert.LessOrEqual(t, f.Locked, 31.0, name)
		assert.GreaterOrEqual(t, f.Start, row.earliest, name)
		assert.LessOrEqual(t, f.Start, 400-2.0/3*370, name)
		assert.InDelta(t, 399, f.End, 1, name)
		assert.Contains(t, f.How, row.how, name)
		assert.Contains(t, f.How, "then released", name)
	}
}

func demoColumns(t *testing.T) (trapped, feed series.Column) {
	text, err := os.ReadFile("../testdata/hold-finding/demo-hv1-warming-leak.csv")
	require.NoError(t, err)
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 816)
	trapped, feed = series.Column{Name: "trapped_a", Quantity: si.Pressure}, series.Column{Name: "feed", Quantity: si.Pressure}
	for _, row := range rows[1:] {
		at, err := strconv.ParseFloat(row[0], 64)
		require.NoError(t, err)
		for i, c := range []*series.Column{&trapped, &feed} {
			v := math.NaN()
			if cell := row[i+1]; cell != "" {
				v, err = strconv.ParseFloat(cell, 64)
				require.NoError(t, err)
			}
			c.Time, c.Value = append(c.Time, at), append(c.Value, v)
		}
	}
	return trapped, feed
}
