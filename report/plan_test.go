package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/color"
	"io"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/report/figure"
)

// examplePlan has every kind of limit, one that is missing a characterisation,
// and looks.
func examplePlan(t *testing.T) Plan {
	known := func(value, u float64) *uncertainty.Estimate {
		return &uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1)}
	}
	p := analysis.Prospect{
		Duration: 300, SinceLock: 60, TestPressure: 100e5, Noise: 1000, Readings: 3000, TemperatureReadings: 1500, TemperatureChange: 0.2,
		Transducer: analysis.Transducer{Gain: 1e-3, Offset: 2000, Drift: 0.1, Resolution: 100}, Thermometer: analysis.Thermometer{Resolution: 0.01},
		Known: decay.Characterised{ThermalCoefficient: known(5e5, 0.3e5), Lag: known(30, 5)},
	}
	looks := &analysis.Looks{Plan: []float64{75, 150, 300}, Hold: 300}
	out := Plan{
		Procedure: "HV-1 hold, rev. 3", Bench: "bench 2, line end", Model: "HV-1", Position: "1", Revision: "A", ProcedureHash: "sha256:0123456789abcdef0123", Program: "0.1.0", Note: "Demo data, invented",
		Made: time.Date(2026, 11, 25, 14, 0, 0, 0, time.UTC),
	}
	circuit := PlannedCircuit{Name: "a", Prospect: p, Prior: []string{"of units that come, most pass"}, Expected: []string{"pressure: 3000 readings that scatter by 0.010 bar", "temperature: changes by 0.20 K over the hold"}}
	for _, l := range []verdict.Limit{
		{Quantity: "decay_rate", Value: 833, Written: "0.5 bar/min"}, {Quantity: "decay_rate", Value: 1, Written: "0.0006 bar/min"},
		{Quantity: "drop", Value: 1e5}, {Quantity: "leak_rate", Value: 833},
		{Quantity: "pressure_end", Bound: verdict.Min, Value: 98e5}, {Quantity: "pressure_after", Bound: verdict.Min, Value: 90e5, After: 3600},
	} {
		planned, ok := p.Plan(l, looks, 1)
		require.True(t, ok)
		circuit.Limits = append(circuit.Limits, planned)
	}
	out.Circuits = []PlannedCircuit{circuit}
	return out
}

func TestPlanShowsEachLimitOnItsPage(t *testing.T) {
	p := examplePlan(t)
	pages := ComposePlan(p)
	require.Len(t, pages, len(p.Circuits[0].Limits))
	checkLayout(t, pages)
	text := pageText(pages[:1])
	for _, want := range []string{
		"Plan of a hold test", "Circuit a: decay rate at most 0.5 bar/min", "HV-1 hold, rev. 3", "decided reliably", "true decay rate [bar/min]", "share of units [%]",
		"within the limit", "beyond the limit", "PASS", "INCONCLUSIVE", "FAIL", "limit", "thermal coefficient", "combined", "100.0 %", "0.500",
		"Units, with 3 looks", "Operating characteristic, with 3 looks", "A hold of", "With 3 looks, pocock-like, after 1 min 15 s, 2 min 30 s, 5 min",
		"A unit without loss is decided or given up after", "HV-1 hold, rev. 3, rev. A", "2026-11-25", "0123456789ab", "smallest limit",
		"Of units that come, most pass", "page 1 of 6", "Demo data, invented",
	} {
		has(t, text, want)
	}
	has(t, pageText(pages[1:2]), "not decided reliably")
	has(t, pageText(pages[1:2]), "No time will settle it if it changes on as quickly: what is left is mostly")
	has(t, pageText(pages[2:3]), "Operating characteristic, at the end of the hold")
	has(t, pageText(pages[2:3]), "The limit belongs to the length of its hold")
	has(t, pageText(pages[3:4]), "No time will settle it: settling of hoses and seals is not characterised")
	has(t, pageText(pages[4:5]), "true fall from the test pressure [bar]")
}

// Three curves that a printer without colours keeps apart, by dash and weight,
// and by grey.
func TestCurvesOfVerdictsDifferWithoutColour(t *testing.T) {
	styles := []figure.Style{figure.PassShare, figure.InconclusiveShare, figure.FailShare, figure.LimitLine}
	for i, a := range styles {
		for _, b := range styles[i+1:] {
			assert.NotEqual(t, a.Dash, b.Dash)
		}
	}
	grey := func(s figure.Style) float64 { return float64(color.GrayModel.Convert(s.Color).(color.Gray).Y) }
	assert.Greater(t, math.Abs(grey(figure.PassShare)-grey(figure.InconclusiveShare)), 50.0)
	assert.Greater(t, math.Abs(grey(figure.FailShare)-grey(figure.InconclusiveShare)), 50.0)
}

func TestPlanIsDrawnToPDFPNGAndSVG(t *testing.T) {
	document := PlanDocument(examplePlan(t))
	var pdf, png, svg bytes.Buffer
	require.NoError(t, document.WritePDF(&pdf))
	require.NoError(t, WritePNG(&png, document.Pages[0]))
	require.NoError(t, WriteSVG(&svg, document.Pages[0]))
	assert.True(t, bytes.HasPrefix(pdf.Bytes(), []byte("%PDF-")))
	assert.True(t, bytes.HasPrefix(png.Bytes(), []byte("\x89PNG")))

	paths, texts := 0, 0
	decoder := xml.NewDecoder(&svg)
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err, "an SVG is well-formed XML")
		if start, ok := token.(xml.StartElement); ok {
			switch start.Name.Local {
			case "path":
				paths++
			case "text":
				texts++
			}
		}
	}
	assert.Greater(t, paths, 100)
	assert.Zero(t, texts, "outlines need no typeface")
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("full") }

func TestSVGSaysThatItCouldNotBeWritten(t *testing.T) {
	assert.ErrorContains(t, WriteSVG(broken{}, ComposePlan(examplePlan(t))[0]), "write SVG: full")
}

// The curves of 0 % and 100 % stand inside the frame, and no heading of a
// column is broken inside its bracket.
func TestPlanOfAnAbsentQuantityCanBeRead(t *testing.T) {
	pages := ComposePlan(examplePlan(t))
	text := pageText(pages[3:4])
	has(t, text, "(k = 1)\n")
	has(t, text, "INCONCLUSIVE to be expected")
}

// Limits, losses and temperatures stand in the units that were asked for.
func TestPlanIsInTheUnitsAskedFor(t *testing.T) {
	p := examplePlan(t)
	d, err := si.ParseDisplay("psi", "°F")
	require.NoError(t, err)
	p.Display = d
	pages := ComposePlan(p)
	text := pageText(pages[:1])
	has(t, text, "decay rate at most 7.25 psi/min")
	assert.NotContains(t, text, "bar/min")
	for _, l := range []struct {
		limit verdict.Limit
		want  string
	}{
		{verdict.Limit{Quantity: "decay_rate", Value: 833, Written: "7.25 psi/min"}, "7.25 psi/min"},
		{verdict.Limit{Quantity: "pressure_end", Value: 95e5, Written: "95 bar"}, "1377.9 psi"},
		{verdict.Limit{Quantity: "time_constant", Value: 36000, Written: "10 h"}, "10 h"},
	} {
		assert.Equal(t, l.want, LimitText(l.limit, d))
	}
}

// What nobody has characterised is named where a hold time rests on it.
func TestHoldTimeNamesWhatItAssumes(t *testing.T) {
	p := examplePlan(t).Circuits[0].Prospect
	p.Known = decay.Characterised{}
	planned, ok := p.Plan(verdict.Limit{Quantity: "decay_rate", Value: 3e5}, nil, 1)
	require.True(t, ok)
	for _, text := range HoldTimesInWords(planned) {
		has(t, text, "reckoned with an assumed thermal coefficient and lag that nobody has measured")
	}
}
