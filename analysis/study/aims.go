package study

import (
	"fmt"
	"math"
	"strings"
)

// Aim is something that the study is held against.
type Aim struct {
	// Text says what is wanted, Found what came out.
	Text, Found string
	Hit         bool
}

// What is wanted of judgement by Assessed and Early, held against the same
// from least squares, inflated.
const (
	wantCoverageLow   = 0.93
	wantCoverageHigh  = 0.97
	wantSceneCoverage = 0.90
	wantForbidden     = 0.002 // where the limit is at least wellResolved·u
	wellResolved      = 3.3
	statedRisk        = 0.05
	wantInconclusive  = 0.5 // of that of the yardstick
	wantRMS           = 0.15
	wantTime          = 1.0 / 3
)

// Aims holds a judge's results against what is wanted: of its estimates and
// verdicts at the end of the hold, of early where verdicts come early ("" is
// none), and beside the yardstick ("" is none).
func (r Result) Aims(cells []Cell, judge, early, yardstick string) []Aim {
	out := []Aim{r.coverage(judge, "decay rate"), r.coverage(judge, "leak rate"), r.sceneCoverage(judge)}
	for _, j := range []string{judge, early} {
		if j != "" {
			out = append(out, r.forbidden(j, true), r.forbidden(j, false))
		}
	}
	if yardstick != "" {
		out = append(out, r.inconclusive(judge, yardstick))
	}
	out = append(out, r.rms(cells, judge))
	if early != "" {
		out = append(out, r.tight(cells, early))
	}
	return out
}

func (r Result) overall(judge string) Figures {
	for _, row := range r.Overall {
		if row.Judge == judge {
			return row.All
		}
	}
	return Figures{}
}

func (r Result) coverage(judge, quantity string) Aim {
	f := r.overall(judge)
	c := f.Decay.Coverage
	if quantity == "leak rate" {
		c = f.Leak.Coverage
	}
	return Aim{
		Text:  fmt.Sprintf("coverage of 95 %% intervals of the %s, over all: %.0f to %.0f %%", quantity, 100*wantCoverageLow, 100*wantCoverageHigh),
		Found: c.percent() + " %", Hit: c.Value >= wantCoverageLow && c.Value <= wantCoverageHigh,
	}
}

func (r Result) sceneCoverage(judge string) Aim {
	a := Aim{Text: fmt.Sprintf("no scene's coverage under %.0f %%", 100*wantSceneCoverage), Hit: true}
	var under []string
	least := math.Inf(1)
	for _, row := range r.Scenes {
		if row.Judge != judge {
			continue
		}
		for what, c := range [2]Figure{row.All.Decay.Coverage, row.All.Leak.Coverage} {
			least = math.Min(least, c.Value)
			if !(c.Value >= wantSceneCoverage) {
				under = append(under, fmt.Sprintf("%s (%s rate) %s", row.Scene, [2]string{"decay", "leak"}[what], c.percent()))
			}
		}
	}
	a.Hit = len(under) == 0
	a.Found = fmt.Sprintf("least %.1f %%", 100*least)
	if !a.Hit {
		a.Found = strings.Join(under, "; ")
	}
	return a
}

// forbidden looks at the worst cell: in those that are well resolved, or in
// the others. A cell counts as worse than wanted where that is clear: by more
// than two standard errors, or by what is wanted over all cells together.
func (r Result) forbidden(judge string, resolved bool) Aim {
	most, share := wantForbidden, "the limit at least 3.3 u"
	if !resolved {
		most, share = statedRisk, "the limit under 3.3 u"
	}
	a := Aim{Text: fmt.Sprintf("%s: forbidden answers at most %.2g %% where %s", judge, 100*most, share), Hit: true}
	var far, wrong, cells, missed float64
	worst, where := 0.0, ""
	for _, row := range r.Cells {
		if row.Judge != judge || math.IsNaN(row.All.Forbidden.Value) || (row.All.LimitOverU >= wellResolved) != resolved {
			continue
		}
		cells++
		n := float64(row.All.Tests)
		far, wrong = far+n, wrong+n*row.All.Forbidden.Value
		if row.All.Forbidden.Value > worst {
			worst, where = row.All.Forbidden.Value, fmt.Sprintf(" (%s, leak %g)", row.Scene, row.Leak)
		}
		if row.All.Forbidden.Value-2*row.All.Forbidden.Error > most {
			missed++
		}
	}
	if cells == 0 {
		a.Found = "no such cell"
		return a
	}
	a.Hit = wrong/far <= most && missed == 0
	a.Found = fmt.Sprintf("%.3f %% over %.0f cells, worst cell %.2f %%%s", 100*wrong/far, cells, 100*worst, where)
	return a
}

func (r Result) inconclusive(judge, yardstick string) Aim {
	ours, theirs := r.overall(judge), r.overall(yardstick)
	return Aim{
		Text:  "INCONCLUSIVE at most half as often as by least squares, inflated",
		Found: fmt.Sprintf("%s %% against %s %% (forbidden answers %s %% against %s %%)", ours.Inconclusive.percent(), theirs.Inconclusive.percent(), ours.Forbidden.percent(), theirs.Forbidden.percent()),
		Hit:   ours.Inconclusive.Value <= wantInconclusive*theirs.Inconclusive.Value,
	}
}

// rms joins the scenes where temperature can be told apart, each weighing the
// same.
func (r Result) rms(cells []Cell, judge string) Aim {
	var square, n, worst float64
	where := ""
	for _, s := range scenesOf(cells) {
		for _, row := range r.Scenes {
			if row.Judge != judge || row.Scene != s.Name || !s.Tellable {
				continue
			}
			f := row.All.Decay
			if s.Quantity == "leak_rate" {
				f = row.All.Leak
			}
			square, n = square+f.RMS.Value*f.RMS.Value, n+1
			if f.RMS.Value > worst {
				worst, where = f.RMS.Value, s.Name
			}
		}
	}
	a := Aim{Text: fmt.Sprintf("RMS error under %.0f %% of the limit where temperature can be told apart", 100*wantRMS)}
	rms := math.Sqrt(square / n)
	a.Hit = rms < wantRMS
	a.Found = fmt.Sprintf("%.1f %%, worst scene %.1f %% (%s)", 100*rms, 100*worst, where)
	return a
}

// tight looks at units without a leak where the limit is far.
func (r Result) tight(cells []Cell, early string) Aim {
	a := Aim{Text: "units far inside the limit are decided in a third of the hold", Found: "no such cell", Hit: true}
	for _, c := range cells {
		for _, row := range r.Cells {
			if c.Scene.Tight && c.Leak == 0 && row.Judge == early && row.Scene == c.Scene.Name && row.Leak == 0 {
				a.Found = row.All.Time.percent() + " % of the hold"
				a.Hit = row.All.Time.Value <= wantTime
			}
		}
	}
	return a
}

// AimsMarkdown is a table of aims.
func AimsMarkdown(aims []Aim) string {
	var b strings.Builder
	b.WriteString("| aim | found | |\n| --- | --- | --- |\n")
	for _, a := range aims {
		hit := "**missed**"
		if a.Hit {
			hit = "hit"
		}
		fmt.Fprintf(&b, "| %s | %s | %s |\n", a.Text, a.Found, hit)
	}
	return b.String()
}
