package report

import (
	"math"
	"strconv"

	"github.com/montanaflynn/stats"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// mostSpread is how many readings of a channel are looked at: more would not
// change the figures that are shown.
const mostSpread = 10000

// spreads is the table of how each channel's readings lay during the hold.
func (c *composer) spreads() block {
	columns := []column{
		{title: "channel", weight: 1.5},
		{title: "readings", kind: numbers},
		{title: "unit", kind: tight},
		{title: "median", kind: numbers},
		{title: "5\u00a0% quantile", kind: numbers},
		{title: "95\u00a0% quantile", kind: numbers},
		{title: "noise (1\u00a0sd)", kind: numbers},
	}
	var rows []row
	seen := map[string]bool{}
	for _, a := range c.f.Assessments {
		recorded := c.f.recorded(a.Circuit)
		for _, col := range []series.Column{recorded.Trapped, recorded.Feed, recorded.Temperature} {
			s, ok := spreadOf(col.Window(a.Start, a.End))
			if !ok || seen[col.Name] {
				continue
			}
			seen[col.Name] = true
			unit := c.display.Unit(col.Quantity)
			decimals := si.Decimals(s.noise / unit.Factor)
			if s.noise == 0 {
				decimals = 3
			}
			figure := func(x float64) string { return trueMinus(si.Format(unit.FromSI(x), decimals)) }
			rows = append(rows, row{cells: []string{
				col.Name, strconv.Itoa(s.readings), unit.Symbol, figure(s.median), figure(s.low), figure(s.high),
				si.Format(s.noise/unit.Factor, decimals),
			}})
		}
	}
	if len(rows) == 0 {
		return block{}
	}
	return c.table("Readings during the hold", columns, rows, c.textWidth)
}

// spread describes the readings of a channel, SI.
type spread struct {
	readings          int
	median, low, high float64
	noise             float64
}

// spreadOf describes a column; ok is false where it has too few valid
// readings. The noise is the standard deviation of successive differences over
// √2, which a slow change does not enlarge.
func spreadOf(col series.Column) (s spread, ok bool) {
	values := col.Valid().Value
	s.readings = len(values)
	if s.readings < 3 {
		return s, false
	}
	stride := (len(values) + mostSpread - 1) / mostSpread
	var some, steps []float64
	for i := 0; i+1 < len(values); i += stride {
		some = append(some, values[i])
		steps = append(steps, values[i+1]-values[i])
	}
	var errs [4]error
	s.median, errs[0] = stats.Median(some)
	s.low, errs[1] = stats.Percentile(some, 5)
	s.high, errs[2] = stats.Percentile(some, 95)
	s.noise, errs[3] = stats.StandardDeviationSample(steps)
	s.noise /= math.Sqrt2
	for _, err := range errs {
		if err != nil {
			return s, false
		}
	}
	return s, true
}
