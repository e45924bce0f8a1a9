package report

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/report/figure"
)

// abortedFacts is an aborted test without a thermal coefficient; 80 s of its
// hold were not read.
func abortedFacts() Facts {
	f := exampleFacts()
	r := f.Result
	r.Completed, r.Verdict, r.Circuits[0].Verdict = false, "INCONCLUSIVE", "INCONCLUSIVE"
	r.Reasons = []string{analysis.ReasonStillSettling, "the hold was aborted by the operator"}
	t := test(f, 0)
	t.Verdict, t.Reasons, t.Limits[0].Verdict = "INCONCLUSIVE", r.Reasons, "INCONCLUSIVE"
	without := func(v []float64, from, to int) []float64 { return slices.Delete(slices.Clone(v), from, to) }
	c := &f.Assessments[0].Curves
	for _, column := range []*[]float64{&c.Time, &c.Measured, &c.Fitted, &c.LiquidTemperature, &c.LiquidTemperatureU} {
		*column = without(*column, 1000, 1800)
	}
	c.Compensated = c.Measured
	trapped := &f.Recorded[0].Trapped
	trapped.Time, trapped.Value = without(trapped.Time, 2800, 3600), without(trapped.Value, 2800, 3600)
	return f
}

func TestAbortedTestSaysSoUnderItsVerdict(t *testing.T) {
	text := pageText(Compose(abortedFacts()))
	has(t, text, "INCONCLUSIVE\nTest not completed: the hold was aborted by the operator\n")
	assert.Less(t, strings.Index(text, "The hold was aborted by the operator.\n"), strings.Index(text, "Still settling.\n"), "what explains stands first")
}

func TestNothingCompensatedIsNotCalledCompensated(t *testing.T) {
	text := pageText(ComposeSet(abortedFacts()))
	has(t, text, "measured (not compensated)\n")
	has(t, text, "residual: measured less fitted\n")
	assert.False(t, strings.Contains(text, "\ncompensated\n"))
	l := Lot{Rows: []LotRow{LotRowOf(abortedFacts())}}
	has(t, strings.ReplaceAll(pageText(ComposeLot(l)), "\n", " "), "Grey: the measured pressure, where nothing was compensated.")
	c := lotComposer{change: si.DefaultDisplay.Unit(si.PressureChange)}
	assert.NotEqual(t, figure.Compensated.Color, c.sparkLines(l.Rows[0].curves[0])[0].Style.Color)
}

func TestCurvesAreBrokenWhereNothingWasRead(t *testing.T) {
	h := newComposer(abortedFacts()).holds()[0]
	for name, c := range map[string]curve{"measured": h.measured, "compensated": h.compensated, "trapped": h.trapped, "whole": h.allTrapped} {
		assert.True(t, slices.ContainsFunc(c.y, math.IsNaN), name)
	}
	small := LotRowOf(abortedFacts()).curves[0]
	assert.True(t, slices.ContainsFunc(small.change, math.IsNaN), "the small plot")
	h = newComposer(exampleFacts()).holds()[0]
	assert.False(t, slices.ContainsFunc(h.allTrapped.y, math.IsNaN))
}

func TestNotesOfAUnitThatPassedAreNoReasons(t *testing.T) {
	f := exampleFacts()
	f.Result.Reasons = []string{analysis.ReasonStillSettling}
	text := pageText(Compose(f))
	has(t, text, "Notes\n–\nStill settling.\n")
	assert.False(t, strings.Contains(text, "Reasons\n"))
}

func TestCircuitThatDecidedStandsFirst(t *testing.T) {
	f := twoCircuitFacts()
	f.Result.Verdict, f.Result.Circuits[1].Verdict = "FAIL", "FAIL"
	text := pageText(Compose(f))
	assert.Less(t, strings.Index(text, "Further estimates, circuit b\n"), strings.Index(text, "Further estimates, circuit a\n"))
}

func TestFiguresSideBySideSlopeAlike(t *testing.T) {
	axis := func(low, high float64) figure.Figure {
		return figure.Figure{Panels: []figure.Panel{{Y: figure.Axis{Low: low, High: high}}}}
	}
	meeting := []figure.Figure{axis(90, 100), axis(97, 101)}
	alike(meeting)
	assert.Equal(t, figure.Axis{Low: 90, High: 101}, meeting[0].Panels[0].Y)
	assert.Equal(t, meeting[0].Panels[0].Y, meeting[1].Panels[0].Y)
	apart := []figure.Figure{axis(90, 100), axis(197, 201)}
	alike(apart)
	assert.Equal(t, figure.Axis{Low: 90, High: 100}, apart[0].Panels[0].Y)
	assert.Equal(t, figure.Axis{Low: 194, High: 204}, apart[1].Panels[0].Y)
}

func TestPhasesAreShadedAlikeForEveryCircuit(t *testing.T) {
	f := twoCircuitFacts()
	f.Phases = []Phase{{"a", "fill", 0, 20}, {"b", "fill", 0, 20}, {"a", "lock", 20, 180}, {"b", "lock", 20, 180}, {"a", "hold", 180, 480}, {"b", "hold", 180, 480}}
	holds := newComposer(f).holds()
	assert.Equal(t, holds[0].bands(1, true), holds[1].bands(1, true))
	assert.NotEqual(t, holds[0].bands(1, true)[0].Fill, holds[0].bands(1, true)[1].Fill)
}

func TestVentStateIsOnTheFirstPage(t *testing.T) {
	for _, paper := range Papers {
		for _, c := range pageCases {
			f := c.facts()
			f.Paper = paper
			text := pageText(Compose(f)[:1])
			assert.True(t, strings.Contains(text, "TREAT AS PRESSURISED") || strings.Contains(text, "Vented: "), "%s, %s", paper.Name, c.name)
		}
	}
	manyReasons := manyReasonFacts()
	manyReasons.Result.Vented.State = "vented"
	has(t, pageText(Compose(manyReasons)[:1]), "Vented: measured and confirmed.\n")
}

// A ring whose end does not meet its beginning grows a spur at the joint.
func TestRingMeetsItself(t *testing.T) {
	var b bytes.Buffer
	for _, radius := range []float64{16, 4.705882} {
		c := newPDFCanvas(Meta{})
		c.doc.SetCompression(false)
		p := Page{}
		ring(&p, vg.Point{X: 511.2837, Y: 613.4571}, figure.Ink, 3, vg.Length(radius/16))
		c.NextPage(p)
		p.Draw(c)
		b.Reset()
		_, err := c.WriteTo(&b)
		require.NoError(t, err)
		path := b.String()
		start := strings.LastIndex(path, " m\n")
		require.Positive(t, start)
		from := strings.Fields(path[:start])
		x, y := from[len(from)-2], from[len(from)-1]
		ends := strings.Split(path[start+3:strings.Index(path, "\nh\n")], "\n")
		last := strings.Fields(ends[len(ends)-1])
		assert.Equal(t, []string{x + "000", y + "000", "c"}, last[len(last)-3:])
		assert.False(t, strings.Contains(path[start:], " l\n"), "a line of no length")
	}
}
