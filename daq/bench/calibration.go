package bench

import (
	"time"

	"holdbench/analysis/si"
	"holdbench/daq/sensor"
)

// Calibration is a certificate's content, applied in the program.
type Calibration struct {
	Certificate string
	Date, Due   time.Time // calendar days, UTC
	// U is the certificate's standard uncertainty, SI.
	U float64
	// Points are pairs (reference, indicated), SI, in rising order of
	// indicated; a reading is corrected by interpolation between them and by
	// the end point's correction outside.
	Points []CalibrationPoint
	// Coefficients are those of the correction polynomial instead of points,
	// c0 first: the reference in Unit for an indication in Unit from SpanLow to
	// SpanHigh (SI). Without points and coefficients a reading is used as
	// indicated.
	Coefficients      []float64
	Unit              si.Unit
	SpanLow, SpanHigh float64
	// Reference says what it was compared with, Laboratory who did it;
	// Temperature is that of the surroundings then, K, 0 where not stated.
	Reference, Laboratory string
	Temperature           float64
	// Source is the base name of the file that brought it, where that is not
	// the bench file.
	Source string
	// DueLine is where due stands in the file.
	DueLine int
}

// CalibrationPoint is one comparison with a reference, SI.
type CalibrationPoint struct{ Reference, Indicated float64 }

// points are the calibration's points as a chain takes them; nil without.
func (c *Calibration) points() (points []sensor.Point) {
	if c == nil {
		return nil
	}
	for _, p := range c.Points {
		points = append(points, sensor.Point(p))
	}
	return points
}

// curve is the calibration's correction polynomial; nil without.
func (c *Calibration) curve() *sensor.CorrectionCurve {
	if c == nil || len(c.Coefficients) == 0 {
		return nil
	}
	return &sensor.CorrectionCurve{Coefficients: c.Coefficients, Unit: c.Unit, Low: c.SpanLow, High: c.SpanHigh}
}

// Corrects says whether the calibration changes readings at all.
func (c *Calibration) Corrects() bool {
	return c != nil && (len(c.Points) > 0 || len(c.Coefficients) > 0)
}

// Correct returns the corrected value of an indication, SI.
func (c *Calibration) Correct(x float64) float64 {
	if curve := c.curve(); curve != nil {
		return curve.Correct(x)
	}
	return sensor.Correct(c.points(), x)
}

// Indicated is what a channel indicates whose corrected value is that, SI.
func (c *Calibration) Indicated(value float64) float64 {
	if curve := c.curve(); curve != nil {
		return curve.Indicated(value)
	}
	return sensor.Indicated(c.points(), value)
}

// Span returns from where to where a corrected value was compared with a
// reference, SI: outside it the correction of the nearer end stands. ok is
// false where the calibration corrects nothing.
func (c *Calibration) Span() (low, high float64, ok bool) {
	switch {
	case !c.Corrects():
		return 0, 0, false
	case len(c.Coefficients) > 0:
		return c.Correct(c.SpanLow), c.Correct(c.SpanHigh), true
	}
	return c.Points[0].Reference, c.Points[len(c.Points)-1].Reference, true
}
