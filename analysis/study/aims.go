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
	// Near: missed, but within the standard error of what was found. Untried:
	// no cell tells.
	Near, Untried bool
}

// Outcome is the aim's fate in words.
func (a Aim) Outcome() string {
	switch {
	case a.Untried:
		return "not tried"
	case a.Hit:
		return "hit"
	case a.Near:
		return "missed, within its standard error"
	}
	return "missed"
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
// none), and beside the yardsticks.
func (r Result) Aims(cells []Cell, judge, early string, yardsticks ...string) []Aim {
	out := []Aim{r.coverage(judge, "decay rate"), r.coverage(judge, "leak rate"), r.sceneCoverage(judge)}
	for _, j := range []string{judge, early} {
		if j != "" {
			out = append(out, r.forbidden(j, true), r.forbidden(j, false))
		}
	}
	for _, yardstick := range yardsticks {
		out = append(out, r.inconclusive(judge, yardstick))
	}
	out = append(out, r.rms(cells, judge))
	if early != "" {
		out = append(out, r.tight(cells, early))
	}
	return out
}

// title of a judge.
func (r Result) title(name string) string {
	for _, j := range r.Judges {
		if j.Name == name {
			return j.Title
		}
	}
	return name
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
	off := math.Max(wantCoverageLow-c.Value, c.Value-wantCoverageHigh)
	return Aim{
		Near:  off <= c.Error,
		Text:  fmt.Sprintf("coverage of 95 %% intervals of the %s, over all: %.0f to %.0f %%", quantity, 100*wantCoverageLow, 100*wantCoverageHigh),
		Found: c.percent() + " %", Hit: c.Value >= wantCoverageLow && c.Value <= wantCoverageHigh,
	}
}

func (r Result) sceneCoverage(judge string) Aim {
	a := Aim{Text: fmt.Sprintf("no scene's coverage under %.0f %%", 100*wantSceneCoverage), Near: true}
	var under []string
	least := math.Inf(1)
	for _, row := range r.Scenes {
		if row.Judge != judge {
			continue
		}
		for what, c := range [2]Figure{row.All.Decay.Coverage, row.All.Leak.Coverage} {
			least = math.Min(least, c.Value)
			if !(c.Value >= wantSceneCoverage) {
				a.Near = a.Near && wantSceneCoverage-c.Value <= c.Error
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
	a := Aim{Text: fmt.Sprintf("%s: forbidden answers (PASS at 1.5 × limit and more, FAIL at 0.5 × limit and less) at most %.2g %% where %s", judge, 100*most, share)}
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
		a.Found, a.Hit, a.Untried = "no such cell", false, true
		return a
	}
	a.Hit = wrong/far <= most && missed == 0
	a.Found = fmt.Sprintf("%.3f %% over %.0f cells, worst cell %.2f %%%s", 100*wrong/far, cells, 100*worst, where)
	return a
}

func (r Result) inconclusive(judge, yardstick string) Aim {
	ours, theirs := r.overall(judge), r.overall(yardstick)
	most := wantInconclusive * theirs.Inconclusive.Value
	return Aim{
		Near:  ours.Inconclusive.Value-most <= math.Hypot(ours.Inconclusive.Error, wantInconclusive*theirs.Inconclusive.Error),
		Text:  "INCONCLUSIVE at most half as often as by " + r.title(yardstick),
		Found: fmt.Sprintf("%s %% against %s %% (forbidden answers %s %% against %s %%)", ours.Inconclusive.percent(), theirs.Inconclusive.percent(), ours.Forbidden.percent(), theirs.Forbidden.percent()),
		Hit:   ours.Inconclusive.Value <= most,
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
	a := Aim{Text: "units far inside the limit are decided in a third of the hold", Found: "no such cell", Untried: true}
	for _, c := range cells {
		for _, row := range r.Cells {
			if c.Scene.Tight && c.Leak == 0 && row.Judge == early && row.Scene == c.Scene.Name && row.Leak == 0 {
				a.Found = row.All.Time.percent() + " % of the hold"
				a.Hit, a.Untried = row.All.Time.Value <= wantTime, false
				a.Near = row.All.Time.Value-wantTime <= row.All.Time.Error
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
		outcome := a.Outcome()
		if !a.Hit && !a.Untried {
			outcome = "**" + outcome + "**"
		}
		fmt.Fprintf(&b, "| %s | %s | %s |\n", a.Text, a.Found, outcome)
	}
	return b.String()
}
