package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"holdbench/analysis/si"
)

// Characterisation returns what is known of this bench with a model, circuit
// and fluid at a gauge pressure in Pa, on the day of at (UTC): each figure is
// that of the latest fitting block that has it, and of the same date of the
// one that stands first. It is nil where no block fits, and the text then says
// why in plain words, for the one that comes nearest (of several the latest).
// Model and circuit are compared letter for letter, bench and fluid regardless
// of case and blanks.
func (b *Bench) Characterisation(model, circuit, fluid string, pressure float64, at time.Time) (*Characterisation, string) {
	if len(b.Characterisations) == 0 {
		return nil, "no characterisation of bench " + b.Name
	}
	var fitting []*Characterisation
	var others []lapsed
	nearest, reason, date := -1, "", time.Time{}
	for _, c := range b.latestFirst() {
		passed, why := c.fits(b.Name, model, circuit, fluid, pressure, at)
		if why == "" {
			fitting = append(fitting, c)
			continue
		}
		if passed >= sameThing {
			others = append(others, lapsed{c, why})
		}
		if passed > nearest || passed == nearest && c.Date.After(date) {
			nearest, reason, date = passed, why, c.Date
		}
	}
	if len(fitting) == 0 {
		return nil, reason
	}
	return merged(fitting, others), ""
}

// latestFirst are the blocks by falling date, those of one day as they stand.
func (b *Bench) latestFirst() []*Characterisation {
	all := make([]*Characterisation, len(b.Characterisations))
	for i := range all {
		all[i] = &b.Characterisations[i]
	}
	slices.SortStableFunc(all, func(x, y *Characterisation) int { return y.Date.Compare(x.Date) })
	return all
}

// sameThing is how many of the checks of fits a block passes that is for
// this bench, model, circuit and fluid.
const sameThing = 4

// fits goes through what must agree, the most telling first. It returns how
// many things did and why the next did not; why is empty when all did.
func (c *Characterisation) fits(bench, model, circuit, fluid string, pressure float64, at time.Time) (passed int, why string) {
	day := func(t time.Time) string { return t.Format("2006-01-02") }
	for _, check := range []struct {
		ok  bool
		why string
	}{
		{alike(c.Bench, bench), "no characterisation of bench " + bench},
		{c.Model == model, "no characterisation of model " + model + " on this bench"},
		{c.Circuit == circuit, "no characterisation of circuit " + circuit + " of model " + model},
		{alike(c.Fluid, fluid), fmt.Sprintf("the characterisation of model %s is for another fluid (%s)", model, c.Fluid)},
		{c.PressureLow <= pressure && pressure <= c.PressureHigh, "the characterisation of model " + model + c.notFor(pressure)},
		{!at.Before(c.Date), "the characterisation of model " + model + " was made later, on " + day(c.Date)},
		{!past(c.Expiry, at), "the characterisation of model " + model + " expired on " + day(c.Expiry)},
	} {
		if !check.ok {
			return passed, check.why
		}
		passed++
	}
	return passed, ""
}

// notFor says how a pressure, Pa, lies to the range.
func (c *Characterisation) notFor(pressure float64) string {
	bar := si.DefaultDisplay.Pressure
	text := fmt.Sprintf(" is for %.4g to %.4g bar, ", bar.FromSI(c.PressureLow), bar.FromSI(c.PressureHigh))
	if math.IsNaN(pressure) {
		return text + "and the pressure is not known"
	}
	return text + fmt.Sprintf("not for %.4g bar", bar.FromSI(pressure))
}

func alike(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}
