package report

import (
	"math"
	"strings"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// challengePages say what a run with a known leak says of the bench; none for
// a test of the unit.
func (c *composer) challengePages() []*Page {
	ch := c.f.Result.Challenge
	if ch == nil {
		return nil
	}
	flow := newFlow(c.sheet, c.titled("Known-leak challenge"))
	flow.add(single(c.aside("A leak of known size was imposed on top of the unit's own. The bench passes where it measures both together to within a quarter of the limit. "+
		"The unit is not judged by this run and gets no PASS from it."), 0))
	flow.add(single(c.keyTable("Challenge", [][2]string{
		{"bench", c.f.Result.Bench.Name}, {"code", ch.Code}, {"circuit", ch.Circuit}, {"outcome", ch.Outcome},
	}), between))
	if row, ok := verdict.Lookup(ch.Quantity); ok {
		flow.add(single(c.challengeTable(ch, row), between))
	}
	for _, reason := range ch.Reasons {
		flow.add(single(block{body: c.item(reason, c.textWidth)}, 1*mm))
	}
	return flow.pages
}

// challengeWord is an outcome as it stands where a unit's verdict would.
func challengeWord(outcome string) string { return "CHALLENGE " + strings.ToUpper(outcome) }

func (c *composer) challengeTable(ch *result.Challenge, quantity verdict.QuantityRow) block {
	unit := c.display.Unit(quantity.Quantity)
	show := func(name string, f result.ChallengeFigure) row {
		if f.Value == nil || f.U == nil {
			return row{cells: []string{name, none, none, f.Written}}
		}
		expanded := uncertainty.Estimate{StdUncertainty: *f.U, DegreesOfFreedom: math.Inf(1)}.Expanded(0.95) / unit.Factor
		decimals := si.Decimals(expanded)
		if !(expanded > 0) {
			decimals = 4
		}
		from := joined(": ", f.Source, f.Written)
		return row{cells: []string{name, number(*f.Value/unit.Factor, decimals), number(expanded, decimals), from}}
	}
	rows := []row{
		show("known leak", ch.Known), show("the unit's own", ch.Own), show("expected", ch.Expected), show("measured", ch.Measured), show("difference", ch.Difference),
	}
	if ch.Allowed != nil {
		rows = append(rows, row{cells: []string{"allowed difference", number(*ch.Allowed/unit.Factor, 4), none, "a quarter of the limit"}, ruled: true})
	}
	return c.table(quantity.Title+" ["+unit.Symbol+"], ± expanded uncertainty (95 %, k 1.96)", []column{
		{title: "what", weight: 1}, {title: "leak", kind: numbers}, {title: "± (95 %)", kind: numbers}, {title: "as given", weight: 1.4},
	}, rows, c.textWidth)
}
