package challenge

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestReportCountsBySideOfTheLimit(t *testing.T) {
	r := ReportOf([]Trial{
		{Expected: .2, Measured: .25, Outcome: Passed, Cleared: true},
		{Expected: .2, Measured: 1.2, Outcome: Failed, Alarm: true},
		{Expected: 1.5, Measured: 1.4, Outcome: Passed, Alarm: true},
		{Expected: 1.5, Measured: 1.1, Outcome: Failed},
		{Expected: 1.5, Measured: .5, Outcome: Failed, Cleared: true},
		{Expected: 1, Measured: 1, Outcome: Passed},
		{Expected: 1.5, Measured: math.NaN(), Outcome: Unknown},
	}, .5, 1)
	assert.Equal(t, [2]int{3, 6}, [2]int{r.Passed.Events, r.Passed.Trials})
	assert.Equal(t, [2]int{1, 2}, [2]int{r.FalseAlarms.Events, r.FalseAlarms.Trials})
	assert.Equal(t, [2]int{1, 3}, [2]int{r.Detections.Events, r.Detections.Trials})
	assert.Equal(t, [2]int{1, 3}, [2]int{r.Missed.Events, r.Missed.Trials})
	assert.Equal(t, [2]int{1, 5}, [2]int{r.Undecided.Events, r.Undecided.Trials})
	assert.Equal(t, 1, r.Unknown)
	require.NotNil(t, r.Evaluation)
	assert.Equal(t, 6, r.Evaluation.N)
	assert.InDelta(t, (.05+1-.1-.4-1+0)/6, r.Evaluation.Bias, 1e-12)

	none := ReportOf([]Trial{{Outcome: Unknown, Measured: math.NaN()}}, .5, 1)
	assert.Nil(t, none.Evaluation)
	assert.Equal(t, "a bias and a scatter need at least 2 runs", none.EvaluationNo)
	twice := Trial{Expected: .2, Measured: .25, Outcome: Passed, Cleared: true}
	same := ReportOf([]Trial{twice, twice}, .5, 1)
	assert.Nil(t, same.Evaluation, "no chances from a scatter of 0")
	assert.Contains(t, same.EvaluationNo, "the differences are all the same")
	assert.Contains(t, Form, "EPA/530/UST-90/004")
	assert.NotContains(t, Form, "certif")
}
