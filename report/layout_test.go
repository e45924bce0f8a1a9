package report

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/recorder"

	"holdbench/report/lettering"
)

// drawn is a text as it stands on a page, with the box of its letters.
type drawn struct {
	text string
	size vg.Length
	box  vg.Rectangle
}

// record draws a page on a recording canvas and returns its texts and its
// level lines.
func record(p Page) (texts []drawn, rules []vg.Rectangle) {
	var c recorder.Canvas
	p.Draw(&c)
	for _, action := range c.Actions {
		switch a := action.(type) {
		case *recorder.FillString:
			face := font.Face{Font: a.Font}
			face.Font.Size = a.Size
			w := lettering.Width(face, a.String)
			texts = append(texts, drawn{a.String, a.Size, vg.Rectangle{
				Min: vg.Point{X: a.Point.X, Y: a.Point.Y - a.Size*lettering.Descent},
				Max: vg.Point{X: a.Point.X + w, Y: a.Point.Y + a.Size*lettering.Ascent},
			}})
		case *recorder.Stroke:
			if len(a.Path) == 2 && a.Path[0].Pos.Y == a.Path[1].Pos.Y {
				rules = append(rules, vg.Rectangle{Min: a.Path[0].Pos, Max: a.Path[1].Pos})
			}
		}
	}
	return texts, rules
}

// overlap reports whether two boxes share more than a hair's breadth.
func overlap(a, b vg.Rectangle) bool {
	const hair = vg.Length(0.05)
	return a.Min.X < b.Max.X-hair && b.Min.X < a.Max.X-hair && a.Min.Y < b.Max.Y-hair && b.Min.Y < a.Max.Y-hair
}

func TestNoTextsOverlapOrLeaveThePage(t *testing.T) {
	for _, paper := range Papers {
		for _, c := range pageCases {
			t.Run(paper.Name+" "+c.name, func(t *testing.T) {
				t.Parallel()
				f := c.facts()
				f.Paper = paper
				checkLayout(t, ComposeSet(f))
			})
		}
	}
}

// checkLayout checks that no text stands over another, over a line or outside
// the margins.
func checkLayout(t *testing.T, pages []Page) {
	t.Helper()
	const edge = 4 * mm // what a printer cannot print
	for n, page := range pages {
		paper := page.Paper()
		texts, rules := record(page)
		require.NotEmpty(t, texts)
		for i, a := range texts {
			if a.box.Min.X < marginSide-0.1 || a.box.Max.X > paper.Width-marginSide+0.1 || a.box.Min.Y < edge || a.box.Max.Y > paper.Height-edge {
				t.Errorf("page %d: %q leaves the margins: %v", n+1, a.text, a.box)
			}
			for _, b := range texts[:i] {
				if overlap(a.box, b.box) {
					t.Errorf("page %d: %q stands over %q", n+1, a.text, b.text)
				}
			}
			for _, r := range rules {
				if r.Min.Y > a.box.Min.Y+0.3 && r.Min.Y < a.box.Max.Y-0.3 && r.Min.X < a.box.Max.X && r.Max.X > a.box.Min.X {
					t.Errorf("page %d: %q is crossed by a line", n+1, a.text)
				}
			}
		}
	}
}

func TestOverlapOfTextsIsSeen(t *testing.T) {
	var p Page
	p.text(lettering.Regular(8), nil, 100, 100, "one text")
	p.text(lettering.Regular(8), nil, 120, 104, "another over it")
	texts, _ := record(p)
	require.Len(t, texts, 2)
	assert.True(t, overlap(texts[0].box, texts[1].box))
}

var axisTitle = regexp.MustCompile(`^(pressure|temperature|time since start)( \[.*)?$`)

func TestEachAxisHasItsUnit(t *testing.T) {
	for name, want := range map[string]int{"good unit": 6, "two circuits": 6, "psi and fahrenheit": 6, "short recording in seconds": 6} {
		axes := 0
		for _, c := range pageCases {
			if c.name != name {
				continue
			}
			for _, page := range Compose(c.facts()) {
				texts, _ := record(page)
				for _, d := range texts {
					if m := axisTitle.FindStringSubmatch(d.text); m != nil && d.size == 6.5 {
						axes++
						assert.Regexp(t, `^ \[(bar|psi|°C|°F|s|min|h)\]$`, m[2], name)
					}
				}
			}
		}
		assert.Equal(t, want, axes, name)
	}
}

// pageText is all texts of the pages, one a line.
func pageText(pages []Page) string {
	var b strings.Builder
	for _, p := range pages {
		texts, _ := record(p)
		for _, d := range texts {
			b.WriteString(strings.ReplaceAll(d.text, "\u00a0", " ") + "\n")
		}
	}
	return b.String()
}

// has checks for a text without printing the whole page when it is missing.
func has(t *testing.T, text, want string) {
	t.Helper()
	assert.True(t, strings.Contains(text, want), "the page lacks %q", want)
}

func TestPageSaysWhatTheResultSays(t *testing.T) {
	text := pageText(Compose(exampleFacts()))
	for _, want := range []string{
		"holdbench", "Hold test", "HV1-2026-00417", "Demo data, invented", "PASS",
		"Decay rate at most 0.094 bar/min (95 %), limit 0.500 bar/min",
		"HV-1 hold, rev. 3", "a2b4c6d8e0f1", "2026-11-25 14:03:09 +01:00", "M. Österlund", "bench 2, line end",
		"guarded, 5 % / 5 %", "0.072", "0.026", "98.82", "−0.270",
		"K-2025-907", "2026-09-30 OVERDUE", "Vented: measured and confirmed.",
		"signature", "page 1 of 1", "measured", "compensated", "fitted", "limit, decay rate 0.500 bar/min",
	} {
		has(t, text, want+"\n")
	}
	has(t, text, "readings.csv 001122334455")
	has(t, text, "holdbench 0.1.0")
	has(t, text, "program is no safety device.\n")
}

func TestPageFollowsTheDisplay(t *testing.T) {
	text := pageText(Compose(imperialFacts()))
	// 156.4 Pa/s × 60 / 6894.757 Pa/psi = 1.361 psi/min
	has(t, text, "Decay rate at most 1.36 psi/min (95 %), limit 7.252 psi/min")
	has(t, text, "psi/°F\n")
	assert.False(t, strings.Contains(text, "bar/min"))
}

func TestEachVerdictSaysItsBound(t *testing.T) {
	leaking := pageText(Compose(leakingFacts()))
	has(t, leaking, "FAIL\n")
	has(t, leaking, "Decay rate at least 0.674 bar/min (95 %), limit 0.500 bar/min\n")
	has(t, leaking, "TREAT AS PRESSURISED")
	unclear := pageText(Compose(unclearFacts()))
	has(t, unclear, "INCONCLUSIVE\n")
	has(t, unclear, "The compensated pressure rises: decay rate −0.31 ± 0.05 bar/min is clearly negative\n")
	has(t, unclear, "Vent the feed side and test again.\n")
	has(t, unclear, "TREAT AS PRESSURISED: not proven vented.\n")
}

func TestBoundIsNotRoundedIntoTheLimit(t *testing.T) {
	f := exampleFacts()
	test(f, 0).Limits[0].DecidedBy = ptr(0.4996e5 / 60)
	has(t, pageText(Compose(f)), "Decay rate at most 0.4996 bar/min (95 %), limit 0.5000 bar/min")
}

func TestEveryLimitAndReasonIsOnSomePage(t *testing.T) {
	pages := Compose(manyLimitFacts())
	text := pageText(pages)
	assert.Equal(t, 12, strings.Count(text, "guarded, 5 % / 5 %\n"))
	has(t, text, "page 2 of 2")

	pages = Compose(manyReasonFacts())
	text = pageText(pages)
	assert.Greater(t, len(pages), 2)
	for i := range 60 {
		has(t, text, fmt.Sprintf("Reason number %d:", i))
		has(t, text, fmt.Sprintf("Advice number %d.", i))
	}
	assert.Equal(t, len(pages), strings.Count(text, "Demo data, invented\n"), "the note is on each page")
}

func TestCharactersWithoutGlyphStandAsCodePoints(t *testing.T) {
	text := pageText(Compose(scriptFacts()))
	has(t, text, "ΣΕΙΡΑ-Ж-0042\n")
	has(t, text, "Γιώργος Παπαδόπουλος\n")
	has(t, text, "‹U+5DE6› left‹U+200B›\n")
	has(t, text, "Characters that the typeface cannot show")
	assert.False(t, strings.Contains(pageText(Compose(exampleFacts())), "Characters that"))
}

func TestTwoCircuitsHaveTheirFigures(t *testing.T) {
	text := pageText(Compose(twoCircuitFacts()))
	for _, want := range []string{"Circuit a\n", "Circuit b\n", "Further estimates, circuit b\n", "Circuit b: Decay rate at most 0.094 bar/min (95 %), limit 0.500 bar/min\n"} {
		has(t, text, want)
	}
	assert.Equal(t, 2, strings.Count(text, "pressure [bar]\n"))
}
