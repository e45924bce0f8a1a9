package report

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// calibrationExample is an invented comparison of two cycles.
func calibrationExample() Calibration {
	f := Calibration{
		Channel: "trapped_a", Instrument: "module", Bench: "Bench 3", Reference: "dead-weight tester R-7", Certificate: "own-7", By: "Ada", Before: "K-2026-118",
		Date: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC), Due: time.Date(2027, 11, 25, 0, 0, 0, 0, time.UTC),
		Quantity: si.Pressure, Temperature: 296.15, Fit: "points", Correction: CalibrationCorrection(3, nil, "bar"),
		Hysteresis: 20000, Repeatability: 500, Residual: 0, Linearity: math.NaN(), AsFound: 45000, AsLeft: 10000,
		Budget: uncertainty.Budget{{Source: "reference", StdUncertainty: 1000, DegreesOfFreedom: math.Inf(1), Note: "as stated, the largest"}, {Source: "repeatability", StdUncertainty: 500, DegreesOfFreedom: 6}},
		U:      5900, DOF: 120, Stated: 6000, RunID: "019a", Cautions: []string{"This is an in-house comparison, not an accredited certificate."}, Program: "holdbench test",
	}
	for cycle := 1; cycle <= 2; cycle++ {
		for _, up := range []bool{true, false} {
			for i := range 3 {
				x := 50e5 * float64(i)
				loop := 10000.0
				if !up {
					x, loop = 100e5-x, -10000
				}
				if x == 0 || x == 100e5 {
					loop = 0
				}
				f.Stops = append(f.Stops, CalibrationStop{Cycle: cycle, Up: up, Reference: x, AsFound: 30000 - loop, AsLeft: -loop})
			}
		}
	}
	for i := range 3 {
		f.Points = append(f.Points, CalibrationRow{Reference: 50e5 * float64(i), Indicated: 50e5*float64(i) + 31000, AsFound: 31000, AsLeft: -2000, Hysteresis: 20000, Repeatability: math.NaN()})
	}
	return f
}

func TestCalibrationPageSaysAsFoundAndAsLeft(t *testing.T) {
	for _, paper := range Papers {
		f := calibrationExample()
		f.Paper = paper
		text := pageText(CalibrationDocument(f).Pages)
		for _, want := range []string{
			"trapped_a, Bench 3", "not an accredited certificate", "dead-weight tester R-7", "K-2026-118", "2027-11-25", "23.0 °C",
			"deviation as found [bar]", "deviation as left [bar]", "reference [bar]", "50.310", "0.310", "−0.020", "points: between 3 points",
			"hysteresis, largest", "0.2000 bar", "not known", "Uncertainty of a corrected value [bar]", "together", "degrees of freedom",
		} {
			has(t, text, want)
		}
	}
	assert.Equal(t, "reference = c0 + c1·x + c2·x² in bar; c0 = 0.1, c1 = 0.999, c2 = 1e-05", CalibrationCorrection(0, []float64{0.1, 0.999, 1e-5}, "bar"))
}

// A line goes from left to right, and each direction is named once.
func TestCalibrationLoopsGoFromLeftToRight(t *testing.T) {
	s := newSetter(A4, si.DefaultDisplay)
	fig, ok := s.calibrationFigure(calibrationExample())
	assert.True(t, ok)
	names := map[string]int{}
	for _, p := range fig.Panels {
		for _, l := range p.Lines {
			names[l.Name]++
			for i := 1; i < len(l.X); i++ {
				assert.Less(t, l.X[i-1], l.X[i], l.Name)
			}
		}
	}
	assert.Equal(t, 1, names["up"])
	assert.Equal(t, 1, names["down"])
	_, ok = s.calibrationFigure(Calibration{})
	assert.False(t, ok)
}
