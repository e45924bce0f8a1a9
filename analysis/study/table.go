package study

import (
	"fmt"
	"math"
	"strings"
)

// Markdown returns the tables of the scenes, one for each judge, all figures
// in per cent with the standard error by bench behind them.
func (r Result) Markdown() string {
	var b strings.Builder
	for i, j := range r.Judges {
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

const heading = `| scene | limit / u | decay rate: bias | RMS | coverage | leak rate: bias | RMS | coverage | FAIL, good | PASS, leak | INCONCLUSIVE | invalid | forbidden | time to verdict, % of the hold | worst tenth: RMS | coverage |
| --- | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: |
`

func (row Row) line() string {
	a, wr := row.All, row.worst()
	cells := []string{
		row.Title, ratioText(a.LimitOverU),
		a.Decay.Bias.percent(), a.Decay.RMS.percent(), a.Decay.Coverage.percent(),
		a.Leak.Bias.percent(), a.Leak.RMS.percent(), a.Leak.Coverage.percent(),
		a.FailGood.percent(), a.PassLeaking.percent(), a.Inconclusive.percent(), a.Invalid.percent(),
		a.Forbidden.percent(), a.Time.percent(), wr.RMS.percent(), wr.Coverage.percent(),
	}
	return "| " + strings.Join(cells, " | ") + " |\n"
}

// worst are the figures of the worst tenth of benches: of the decay rate, or of
// the leak rate where that alone has any.
func (row Row) worst() RateFigures {
	if w := row.Worst; math.IsNaN(w.Decay.RMS.Value) && !math.IsNaN(w.Leak.RMS.Value) {
		return w.Leak
	}
	return row.Worst.Decay
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

// Compact returns two tables: a judge's scenes, with the time to a verdict and
// forbidden answers of early ("" is none), and all judges over all scenes.
func (r Result) Compact(judge, early string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "**%s, scene by scene**\n\n%s", r.title(judge), compactHeading)
	for _, rows := range [][]Row{r.Scenes, r.Overall} {
		for _, row := range rows {
			if row.Judge != judge {
				continue
			}
			a, sooner := row.All, Figure{math.NaN(), math.NaN()}
			for _, e := range rows {
				if e.Judge == early && e.Scene == row.Scene {
					sooner = e.All.Time
				}
			}
			writeRow(&b, row.Title, a.Decay.Bias, a.Decay.RMS, a.Decay.Coverage, a.Leak.Bias, a.Leak.RMS, a.Leak.Coverage,
				a.FailGood, a.PassLeaking, a.Inconclusive, a.Forbidden, sooner, row.worst().RMS, row.worst().Coverage)
		}
	}
	b.WriteString("\n**All judges, over all scenes**\n\n" + judgesHeading)
	for _, j := range r.Judges {
		a := r.overall(j.Name)
		writeRow(&b, j.Title, a.Decay.Coverage, a.Leak.Coverage, a.Decay.RMS, a.Leak.RMS, a.FailGood, a.PassLeaking, a.Inconclusive, a.Forbidden)
	}
	return b.String()
}

const compactHeading = `| scene | decay rate: bias | RMS | coverage | leak rate: bias | RMS | coverage | FAIL, good | PASS, leak | INCONCLUSIVE | forbidden | early verdict after, % of the hold | worst tenth of benches: RMS | coverage |
| --- | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: |
`

const judgesHeading = `| judge | coverage: decay rate | leak rate | RMS: decay rate | leak rate | FAIL, good | PASS, leak | INCONCLUSIVE | forbidden |
| --- | --: | --: | --: | --: | --: | --: | --: | --: |
`

func writeRow(b *strings.Builder, title string, figures ...Figure) {
	cells := []string{title}
	for _, f := range figures {
		cells = append(cells, f.percent())
	}
	b.WriteString("| " + strings.Join(cells, " | ") + " |\n")
}
