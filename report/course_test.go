package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/report/result"
)

// How a hold went stands on the page where there is something to say of it.
func TestCourseIsShownWhereItSaysSomething(t *testing.T) {
	p := func(x float64) *float64 { return &x }
	titles := func(c *result.Course) (out []string) {
		for _, r := range courseRows(c) {
			out = append(out, r.title)
		}
		return out
	}
	assert.Empty(t, titles(nil))
	alike := &result.Course{FirstHalfRate: p(100), SecondHalfRate: p(110), HalvesT: p(1), HalvesDOF: p(100)}
	assert.Empty(t, titles(alike))
	differ := &result.Course{FirstHalfRate: p(100), SecondHalfRate: p(60), HalvesT: p(-4), HalvesDOF: p(100), RepumpRate: p(90), RepumpRateU: p(2), Repumps: 5, ZeroShift: p(300), ZeroShiftU: p(20)}
	assert.Equal(t, []string{"Decay rate by the re-pumps alone", "Shift of the vented transducer's zero", "Decay rate, second half less first"}, titles(differ))
	last := courseRows(differ)[2]
	assert.InDelta(t, -40, *last.value, 1e-12)
	assert.InDelta(t, 1.984*10, last.expanded, 0.01)
}
