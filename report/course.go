package report

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/report/result"
)

// courseLevel is at which level the halves of a hold are said to differ.
const courseLevel = 0.99

// courseRow is a figure with half its 95 % interval, SI.
type courseRow struct {
	title    string
	quantity si.Quantity
	value    *float64
	expanded float64
}

// courseRows are what is worth a line of how a hold went: what re-pumps and
// vented zeros say, where there were any, and the halves' rates where they
// clearly differ.
func courseRows(c *result.Course) (rows []courseRow) {
	if c == nil {
		return nil
	}
	normal := uncertainty.T((1+level)/2, math.Inf(1))
	if c.RepumpRate != nil && c.RepumpRateU != nil {
		rows = append(rows, courseRow{"Decay rate by the re-pumps alone", si.PressureRate, c.RepumpRate, uncertainty.T((1+level)/2, float64(max(c.Repumps-2, 1))) * *c.RepumpRateU})
	}
	if c.ZeroShift != nil && c.ZeroShiftU != nil {
		rows = append(rows, courseRow{"Shift of the vented transducer's zero", si.PressureChange, c.ZeroShift, normal * *c.ZeroShiftU})
	}
	if c.HalvesT == nil || c.HalvesDOF == nil || c.FirstHalfRate == nil || c.SecondHalfRate == nil {
		return rows
	}
	if math.Abs(*c.HalvesT) > uncertainty.T((1+courseLevel)/2, *c.HalvesDOF) {
		differ := *c.SecondHalfRate - *c.FirstHalfRate
		u := math.Abs(differ / *c.HalvesT)
		rows = append(rows, courseRow{"Decay rate, second half less first", si.PressureRate, &differ, uncertainty.T((1+level)/2, *c.HalvesDOF) * u})
	}
	return rows
}
