package comparison

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"holdbench/analysis/si"
)

// Certificate is what a block says beside the figures.
type Certificate struct {
	Channel, Number string
	Date, Due       time.Time
	// Reference and By go into the block's reference and laboratory.
	Reference, By string
	// Temperature of the surroundings, K; NaN where it was not measured.
	Temperature float64
	// Made says in a comment where the figures come from.
	Made string
}

// NotAccredited is what every calibration of one's own is.
const NotAccredited = "in-house comparison, not an accredited certificate"

// Block writes the correction as a [[calibration]] for a bench file or a file
// of its own, both of which take it word for word.
func (f *Figures) Block(c Certificate) string {
	var b strings.Builder
	if c.Made != "" {
		fmt.Fprintf(&b, "# %s\n", c.Made)
	}
	fmt.Fprintf(&b, "# An %s.\n[[calibration]]\n", NotAccredited)
	text := func(key, value string) { fmt.Fprintf(&b, "%s = %s\n", key, quoted(value)) }
	text("channel", c.Channel)
	text("certificate", c.Number)
	fmt.Fprintf(&b, "date = %s\ndue = %s\n", c.Date.Format(time.DateOnly), c.Due.Format(time.DateOnly))
	// Rounded up: an uncertainty is never stated smaller than it is.
	text("uncertainty", up(f.Stated/f.Change.Factor)+" "+f.Change.Symbol)
	text("reference", c.Reference)
	text("laboratory", NotAccredited+" ("+c.By+")")
	if !math.IsNaN(c.Temperature) {
		text("temperature", si.Format(si.DefaultDisplay.Unit(si.Temperature).FromSI(c.Temperature), 1)+" °C")
	}
	value := func(x float64) string { return plain(f.Unit.FromSI(x)) + " " + f.Unit.Symbol }
	if f.Curve != nil {
		var all []string
		for _, k := range f.Curve.Coefficients {
			all = append(all, strconv.FormatFloat(k, 'g', -1, 64))
		}
		fmt.Fprintf(&b, "coefficients = [%s]\n", strings.Join(all, ", "))
		text("unit", f.Unit.Symbol)
		fmt.Fprintf(&b, "span = [%s, %s]\n", quoted(value(f.Curve.Low)), quoted(value(f.Curve.High)))
		return b.String()
	}
	var pairs []string
	for _, p := range f.Table {
		pairs = append(pairs, "["+quoted(value(p.Reference))+", "+quoted(value(p.Indicated))+"]")
	}
	fmt.Fprintf(&b, "points = [%s]  # reference, indicated\n", strings.Join(pairs, ", "))
	return b.String()
}

// quoted is a text as TOML has it: its basic strings know what is needed here
// of what Go's know.
func quoted(text string) string { return strconv.Quote(text) }

// plain is a number without an exponent or needless digits.
func plain(x float64) string {
	text := strconv.FormatFloat(x, 'f', 9, 64)
	text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	if text == "-0" {
		return "0"
	}
	return text
}

// up is a number above zero with two significant digits, rounded up.
func up(x float64) string {
	if !(x > 0) || math.IsInf(x, 0) {
		return plain(x)
	}
	step := math.Pow(10, math.Floor(math.Log10(x))-1)
	return plain(math.Ceil(x/step-1e-6) * step)
}
