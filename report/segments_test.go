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

// The page of a hold that could be decided early lists every look.
func TestPlotsPageListsTheLooks(t *testing.T) {
	f := exampleFacts()
	p := func(x float64) *float64 { return &x }
	f.Result.Circuits[0].Tests[0].Early = &result.Early{Planned: 2, Hold: 300, Longest: 900, Text: "decided at look 2 of 2", Looks: []result.EarlyLook{
		{Number: 1, Time: 60, Reason: "too few readings", Verdict: "INCONCLUSIVE"},
		{Number: 2, Time: 120, Judged: true, Verdict: "PASS", Limits: []result.EarlyLimit{
			{Quantity: "decay_rate", Information: p(0.25), PassBoundary: p(4.56), FailBoundary: p(3.9), Verdict: "PASS"}}},
	}}
	c := newComposer(f)
	pages := c.number(c.plotPages(), "")
	text := pageText(pages)
	for _, want := range []string{"Looks at the hold", "4.56", "not judged: too few readings", "2 min"} {
		assert.Contains(t, text, want)
	}
	assert.Contains(t, text, "hold 15 min")
	checkLayout(t, pages)
}
