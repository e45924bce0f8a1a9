package report

import (
	"fmt"
	"strconv"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/report/result"
)

// curvePoints is at how many indications a polynomial is shown.
const curvePoints = 6

// calibrationPoints are what a calibration's table shows: the certificate's
// points, or those of its polynomial at even steps of its span, and what stands
// beneath it.
func calibrationPoints(ch bench.Channel) (points []bench.CalibrationPoint, about string) {
	c := ch.Calibration
	parts := []string{"certificate " + orNone(c.Certificate)}
	if c.Source != "" {
		parts = append(parts, "from "+c.Source)
	}
	if c.Reference != "" {
		parts = append(parts, "reference: "+c.Reference)
	}
	if c.Laboratory != "" {
		parts = append(parts, c.Laboratory)
	}
	points = c.Points
	if len(c.Coefficients) > 0 {
		for i := range curvePoints {
			x := c.SpanLow + (c.SpanHigh-c.SpanLow)*float64(i)/(curvePoints-1)
			points = append(points, bench.CalibrationPoint{Reference: c.Correct(x), Indicated: x})
		}
		var terms []string
		for i, k := range c.Coefficients {
			terms = append(terms, "c"+strconv.Itoa(i)+" = "+trueMinus(strconv.FormatFloat(k, 'g', 8, 64)))
		}
		parts = append(parts, "polynomial in "+c.Unit.Symbol+": "+strings.Join(terms, ", "))
	}
	return points, strings.Join(parts, "; ")
}

// zeroChecks are the transducers' zeros before and after the test.
func (c *composer) zeroChecks() block {
	zeros := c.f.Result.ZeroChecks
	if len(zeros) == 0 {
		return block{}
	}
	unit := c.display.Unit(si.PressureChange)
	show := func(x *float64) string {
		if x == nil {
			return none
		}
		return number(*x/unit.Factor, 4)
	}
	var rows []row
	for _, z := range zeros {
		word := "within"
		if !z.Within {
			word = "OUTSIDE"
		}
		rows = append(rows, row{bold: !z.Within, cells: []string{z.Channel, z.When + " the test", show(z.Mean), show(z.SD), fmt.Sprint(z.Readings), figureOrNone(z.Tolerance / unit.Factor), word}})
	}
	for _, name := range zeroNames(zeros) {
		if shift, ok := zeroShift(zeros, name); ok {
			rows = append(rows, row{cells: []string{name, "moved by", number(shift/unit.Factor, 4), none, none, none, none}})
		}
	}
	return c.table("Zeros while vented ["+unit.Symbol+"]", []column{
		{title: "channel", weight: 1.5}, {title: "when", weight: 1.2}, {title: "mean", kind: numbers}, {title: "standard deviation", kind: numbers},
		{title: "readings", kind: rights}, {title: "tolerance\u00a0±", kind: rights}, {title: "", kind: tight},
	}, rows, c.textWidth)
}

// zeroNames are the channels whose zeros were read, each once.
func zeroNames(zeros []result.ZeroCheck) (names []string) {
	seen := map[string]bool{}
	for _, z := range zeros {
		if !seen[z.Channel] {
			seen[z.Channel] = true
			names = append(names, z.Channel)
		}
	}
	return names
}

// zeroShift is by how much a channel's zero moved, Pa.
func zeroShift(zeros []result.ZeroCheck, channel string) (shift float64, ok bool) {
	var before, after *float64
	for _, z := range zeros {
		switch {
		case z.Channel != channel:
		case z.When == result.ZeroBefore:
			before = z.Mean
		default:
			after = z.Mean
		}
	}
	if before == nil || after == nil {
		return 0, false
	}
	return *after - *before, true
}
