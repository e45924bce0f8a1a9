// Package figure knows how a hold is drawn: panels of lines over shaded
// phases, one above another on one time axis, with own ticks and a legend as
// a row. It is given numbers in display units and draws on any vg canvas; it
// knows nothing of pages, files or verdicts.
//
// Every axis wears its quantity and unit; lines differ in style and weight,
// not in colour alone, so that a black-and-white printer loses nothing.
package figure

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// Axis is one axis of a panel. Low < High, both in Unit.
type Axis struct {
	// Quantity and Unit are written as "pressure [bar]"; without a unit the
	// axis counts, and has marks at whole numbers only.
	Quantity, Unit string
	Low, High      float64
}

// Title is what stands beside the axis.
func (a Axis) Title() string {
	if a.Unit == "" {
		return a.Quantity
	}
	return a.Quantity + " [" + a.Unit + "]"
}

// Style is how a line looks.
type Style struct {
	Color color.Color
	Width vg.Length
	// Dash is the pattern of dashes and gaps; empty for a full line.
	Dash []vg.Length
}

// Line is one curve, in the units of the axes. len(X) == len(Y), X rising;
// NaN in Y breaks the line.
type Line struct {
	Name  string
	X, Y  []float64
	Style Style
	// Shade, when not empty, is the half-width of a tinted ribbon behind the
	// line (an uncertainty), len(Shade) == len(Y).
	Shade []float64
}

// Band is a shaded phase, From and To on the time axis.
type Band struct {
	Name     string
	From, To float64
	Fill     color.Color
}

// Panel is one panel of a figure.
type Panel struct {
	Y     Axis
	Lines []Line
	// Share is the panel's part of the height, against the other panels'.
	Share float64
}

// Figure is panels one above another on one time axis.
type Figure struct {
	// Title stands in the row of the phases' names.
	Title  string
	Time   Axis
	Bands  []Band
	Panels []Panel
}
