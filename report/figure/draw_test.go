package figure

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/recorder"
)

func example() Figure {
	x, y := noisy(3000)
	temperature := make([]float64, len(x))
	shade := make([]float64, len(x))
	for i := range temperature {
		temperature[i], shade[i] = 21.5-x[i]/1000, 0.02
	}
	return Figure{
		Time:  Axis{Quantity: "time", Unit: "s", Low: 50, High: 250},
		Bands: []Band{{Name: "stabilise", From: 0, To: 100, Fill: PhaseTint}, {Name: "hold", From: 100, To: 240, Fill: HoldTint}},
		Panels: []Panel{
			{Y: Axis{"pressure", "bar", 98.9, 100.1}, Share: 2, Lines: []Line{{Name: "measured", X: x, Y: y, Style: Measured}, {Name: "limit", X: []float64{0, 300}, Y: []float64{100, 0}, Style: LimitLine}}},
			{Y: Axis{"temperature", "°C", 21, 22}, Share: 1, Lines: []Line{{Name: "liquid", X: x, Y: temperature, Shade: shade, Style: Liquid}}},
		},
	}
}

func drawn(f Figure, r vg.Rectangle) (texts []string, points []vg.Point) {
	var c recorder.Canvas
	Draw(&c, r, f)
	for _, action := range c.Actions {
		switch a := action.(type) {
		case *recorder.FillString:
			texts = append(texts, a.String)
			points = append(points, a.Point)
		case *recorder.Stroke:
			for _, p := range a.Path {
				if p.Type != vg.CloseComp {
					points = append(points, p.Pos)
				}
			}
		case *recorder.Fill:
			for _, p := range a.Path {
				if p.Type != vg.CloseComp {
					points = append(points, p.Pos)
				}
			}
		}
	}
	return texts, points
}

func TestFigureStaysInItsRectangle(t *testing.T) {
	r := vg.Rectangle{Min: vg.Point{X: 100, Y: 200}, Max: vg.Point{X: 400, Y: 380}}
	_, points := drawn(example(), r)
	require.NotEmpty(t, points)
	for _, p := range points {
		assert.True(t, p.X >= r.Min.X-0.01 && p.X <= r.Max.X+0.01 && p.Y >= r.Min.Y-0.01 && p.Y <= r.Max.Y+0.01, "%v", p)
	}
}

func TestEachAxisWearsItsUnit(t *testing.T) {
	texts, _ := drawn(example(), vg.Rectangle{Max: vg.Point{X: 300, Y: 180}})
	for _, want := range []string{"pressure [bar]", "temperature [°C]", "time [s]", "stabilise", "hold"} {
		assert.Contains(t, texts, want)
	}
	f := example()
	f.Title = "whole test"
	texts, _ = drawn(f, vg.Rectangle{Max: vg.Point{X: 300, Y: 180}})
	assert.Contains(t, texts, "whole test")
	assert.NotContains(t, texts, "hold")
}

func TestPanelsShareTheirTimeAxis(t *testing.T) {
	f := example()
	frames := f.frames(vg.Rectangle{Max: vg.Point{X: 300, Y: 180}})
	require.Len(t, frames, 2)
	assert.Equal(t, frames[0].Min.X, frames[1].Min.X)
	assert.Equal(t, frames[0].Max.X, frames[1].Max.X)
	assert.Greater(t, frames[0].Min.Y, frames[1].Max.Y)
	assert.InDelta(t, 2, float64(frames[0].Size().Y/frames[1].Size().Y), 1e-9)
}

func TestGapInACurveIsNotBridged(t *testing.T) {
	f := example()
	line := &f.Panels[0].Lines[0]
	for i := range line.Y {
		line.Y[i] = 99.5
		if line.X[i] > 120 && line.X[i] < 140 {
			line.Y[i] = math.NaN()
		}
	}
	r := vg.Rectangle{Max: vg.Point{X: 300, Y: 180}}
	frame := f.frames(r)[0]
	p := pen{frame: frame, time: f.Time, y: f.Panels[0].Y}
	runs := p.runs(Decimate(line.X, line.Y, f.Time.Low, f.Time.High, 400))
	require.Len(t, runs, 2)
	assert.Less(t, runs[0][len(runs[0])-1].X, p.atX(121))
	assert.Greater(t, runs[1][0].X, p.atX(139))
}

func TestStylesDifferWithoutColour(t *testing.T) {
	seen := map[string]string{}
	for name, s := range map[string]Style{"measured": Measured, "compensated": Compensated, "fitted": Fitted, "limit": LimitLine, "feed": Feed} {
		key := strings.TrimSpace(vgKey(s))
		assert.Empty(t, seen[key], "%s looks like %s in grey", name, seen[key])
		seen[key] = name
	}
	assert.Greater(t, float64(Liquid.Width), 1.5*float64(Probe.Width))
}

// vgKey is what is left of a style without its colour.
func vgKey(s Style) string {
	key := ""
	for _, d := range append([]vg.Length{s.Width}, s.Dash...) {
		key += " " + label(d.Points(), 2)
	}
	return key
}

func TestLegendShowsEachNameOnce(t *testing.T) {
	lines := []Line{{Name: "measured", Style: Measured}, {Name: "fitted", Style: Fitted}, {Name: "measured", Style: Measured}, {}}
	placed, rows := entries(lines, 300)
	require.Len(t, placed, 2)
	assert.Equal(t, 1, rows)
	lines[1].Name = strings.Repeat("long ", 100)
	placed, rows = entries(lines, 300)
	require.Len(t, placed, 2)
	assert.Equal(t, 2, rows)
	assert.True(t, strings.HasSuffix(placed[1].name, "…"))
	assert.Equal(t, 2*legendRow, LegendHeight(lines, 300))
}
