package study

import (
	"fmt"
	"math"
	"strings"
)

// Markdown returns the tables of the scenes, one for each judge, all figures
// in per cent with the standard error by bench behind them.
func (r Result) Markdown(judges []Judge) string {
	var b strings.Builder
	for i, j := range judges {
		if i > 0 {
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "**%s**\n\n", j.Title)
		b.WriteString(heading)
		for _, rows := range [][]Row{r.Scenes, r.Overall} {
			for _, row := range rows {
				if row.Judge == j.Name {
					b.WriteString(row.line())
				}
			}
		}
	}
	return b.String()
}

const heading = `| scene | limit / u | decay rate: bias | RMS | coverage | leak rate: bias | RMS | coverage | FAIL, good | PASS, leak | INCONCLUSIVE | invalid | forbidden | time to verdict | worst tenth: RMS | coverage |
| --- | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: |
`

func (row Row) line() string {
	a, w := row.All, row.Worst
	wr := w.Decay
	if !math.IsNaN(w.Leak.RMS.Value) && math.IsNaN(w.Decay.RMS.Value) {
		wr = w.Leak
	}
	cells := []string{
		row.Title, ratioText(a.LimitOverU),
		a.Decay.Bias.percent(), a.Decay.RMS.percent(), a.Decay.Coverage.percent(),
		a.Leak.Bias.percent(), a.Leak.RMS.percent(), a.Leak.Coverage.percent(),
		a.FailGood.percent(), a.PassLeaking.percent(), a.Inconclusive.percent(), a.Invalid.percent(),
		a.Forbidden.percent(), a.Time.percent(), wr.RMS.percent(), wr.Coverage.percent(),
	}
	return "| " + strings.Join(cells, " | ") + " |\n"
}

func ratioText(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "–"
	}
	return fmt.Sprintf("%.1f", x)
}

// percent writes a share in per cent with its standard error: "94.8 ± 0.3".
func (f Figure) percent() string {
	switch {
	case math.IsNaN(f.Value):
		return "–"
	case math.IsNaN(f.Error):
		return fmt.Sprintf("%.1f", 100*f.Value)
	case math.Abs(f.Value) < 0.0095 && f.Value != 0:
		return fmt.Sprintf("%.2f ± %.2f", 100*f.Value, 100*f.Error)
	}
	return fmt.Sprintf("%.1f ± %.1f", 100*f.Value, 100*f.Error)
}
