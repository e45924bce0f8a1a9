package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/report/result"
)

func TestAnOverriddenCalibrationStandsBesideTheVerdict(t *testing.T) {
	f := exampleFacts()
	f.Result.OverdueOverride = &result.OverdueOverride{Reason: "certificate in the post", By: "Ada", Channels: []string{"feed (due 2026-10-01)"}}
	c := newComposer(f)
	lines := c.deciding()
	assert.Equal(t, "Calibration overdue: feed (due 2026-10-01); overridden by Ada: certificate in the post", lines[len(lines)-1])
	has(t, pageText([]Page{ComposeSet(f)[0]}), "overridden by Ada: certificate in the post")
}

func TestZerosStandOnTheInstrumentsPage(t *testing.T) {
	f := exampleFacts()
	assert.NotContains(t, pageText(ComposeSet(f)), "Zeros while vented")
	f.Result.ZeroChecks = []result.ZeroCheck{
		{Circuit: "a", Channel: "trapped a", When: "before", Readings: 100, Mean: ptr(2000), SD: ptr(900), Tolerance: 0.5e5, Within: true},
		{Circuit: "a", Channel: "trapped a", When: "after", Readings: 100, Mean: ptr(-62000), SD: ptr(900), Tolerance: 0.5e5},
		{Circuit: "a", Channel: "feed", When: "before", Readings: 1, Tolerance: 0.5e5},
	}
	text := pageText(ComposeSet(f))
	for _, want := range []string{"Zeros while vented [bar]", "before the test", "0.0200", "−0.6200", "OUTSIDE", "moved by", "−0.6400"} {
		has(t, text, want)
	}
}

func TestAPolynomialIsShownAtPointsOfItsSpan(t *testing.T) {
	f := exampleFacts()
	bar, _ := si.ParseUnit("bar", si.Pressure)
	c := *f.Channels[0].Calibration
	c.Points, c.Coefficients, c.Unit, c.SpanLow, c.SpanHigh = nil, []float64{-0.5, 1.001}, bar, 0, 100e5
	c.Reference, c.Laboratory, c.Source = "dead-weight tester R-7", "bench shop", "new.toml"
	f.Channels[0].Calibration = &c
	text := pageText(ComposeSet(f))
	for _, want := range []string{"−0.5", "79.58", "certificate K-2026-118; from new.toml", "reference: dead-weight tester R-7", "c1 = 1.001"} {
		has(t, text, want)
	}
}
