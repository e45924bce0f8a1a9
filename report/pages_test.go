package report

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/report/result"
)

var outlineTitle = regexp.MustCompile(`(?s)<</Title \((.*?[^\\])\)\n/Parent`)

// outline returns the titles of a document's outline.
func outline(doc []byte) (titles []string) {
	unescape := strings.NewReplacer(`\\`, `\`, `\(`, `(`, `\)`, `)`, `\r`, "\r")
	for _, m := range outlineTitle.FindAllSubmatch(doc, -1) {
		raw := unescape.Replace(string(m[1]))
		var units []uint16
		for i := 2; i+1 < len(raw); i += 2 { // behind the byte order mark
			units = append(units, uint16(raw[i])<<8|uint16(raw[i+1]))
		}
		titles = append(titles, string(utf16.Decode(units)))
	}
	return titles
}

func TestSetHasEveryKindOfPageInItsOutline(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, DocumentOf(twoCircuitFacts()).WritePDF(&b))
	assert.Equal(t, []string{
		"Summary", "Plots, circuit a", "Plots, circuit b", "Uncertainty budget", "Instruments and calibration", "Files",
	}, outline(b.Bytes()))
	for _, kind := range pageKinds {
		c := newComposer(exampleOf(kind))
		assert.NotEmpty(t, kind.compose(c), kind.name)
	}
}

func TestPagesOfASetAreNumberedTogether(t *testing.T) {
	for _, paper := range Papers {
		f := twoCircuitFacts()
		f.Paper = paper
		pages := ComposeSet(f)
		require.Greater(t, len(pages), 5)
		for i, p := range pages {
			has(t, pageText([]Page{p}), fmt.Sprintf("page %d of %d\n", i+1, len(pages)))
			assert.Equal(t, paper, p.Paper())
		}
	}
}

func TestSetLeavesOutWhatItDoesNotKnow(t *testing.T) {
	assert.Len(t, ComposeSet(emptyFacts()), 1, "the summary alone")
	text := pageText(ComposeSet(foreignFacts()))
	for _, label := range []string{"\nprocedure\n", "\nbench\n", "\noperator\n", "\nposition\n", "\nstarted\n", "\nfluid\n", "Instruments", "\n–\n–\n", "recording file"} {
		assert.False(t, strings.Contains(text, label), "the page has %q", label)
	}
	has(t, text, "model\nnot stated\n")
	assert.Equal(t, 2, strings.Count(text, "Hold: found from the pressure: peak 100.4 bar at 50 s, feed let down at 55 s.\n"), "at either figure")
	has(t, text, "Stamps of one second were spread evenly: −0.05 s to 0.95 s.\n")
	has(t, text, "logger 7.csv 001122334455")
}

func TestHoldFoundComesFromTheTestsWhereTheFactsSayNothing(t *testing.T) {
	f := twoCircuitFacts()
	assert.Empty(t, f.holdsFound())
	for i := range f.Result.Circuits {
		test(f, i).Found = found("hold taken whole")
	}
	assert.Equal(t, []string{"Hold taken whole."}, f.holdsFound(), "once for both circuits")
}

func TestEarlyDecisionIsMarkedBesideTheVerdict(t *testing.T) {
	f := exampleFacts()
	f.Result.Circuits[0].Tests[0].Early = &result.Early{Stopped: true,
		Text: "decided early, at look 3 of 12, after 1 min 45 s; the intervals allow for the looks"}
	c := newComposer(f)
	assert.Contains(t, c.deciding(), "Decided early, at look 3 of 12, after 1 min 45 s; the intervals allow for the looks")
	has(t, pageText(Compose(f)), "at look 3 of 12")
	f.Result.Circuits = append(f.Result.Circuits, f.Result.Circuits[0])
	assert.Len(t, newComposer(f).looks(), 1, "once for both circuits")
}

func TestBudgetPageHasEveryLine(t *testing.T) {
	c := newComposer(exampleFacts())
	text := pageText(c.number(c.budgetPages(), ""))
	for _, want := range []string{
		"Decay rate: 0.072 ± 0.026 bar/min", "resolution", "transducer gain", "combined", "expanded (95 %)",
		"Without lines of their own", "Stiffness", "characterised",
	} {
		has(t, text, want+"\n")
	}
	// M JCGM 100:2008 table G.2: t(95 %; 140) = 1.98
	has(t, text, "k = 1.98\n")
}

func TestInstrumentsPageHasCalibrationsInDisplayUnits(t *testing.T) {
	c := newComposer(exampleFacts())
	text := pageText(c.number(c.instrumentPages(), ""))
	for _, want := range []string{
		"4…20 mA → −1…160 bar, gauge", "bar, absolute", "Calibration of trapped a [bar]", "80.03", "−0.03", "0.04", "certificate K-2026-118",
		"Calibration of body temperature [°C]", "49.96", "0.16", "0.050",
	} {
		has(t, text, want+"\n")
	}
	assert.False(t, strings.Contains(text, "elsewhere"), "a channel that took no part")
}

func TestHalfLifeAndLawAreShown(t *testing.T) {
	text := pageText(Compose(exponentialFacts()))
	// 13.5 h · ln 2 = 9.357 h; u 0.25 h, t(95 %; 140) = 1.977
	for _, want := range []string{"Time constant\n13.50\n0.49\nh\n", "Half-life\n9.36\n0.34\nh\n", "Law: exponential towards 0.00 bar; its AICc is smaller by 12.4 than that of a straight line.\n"} {
		has(t, text, want)
	}
	assert.False(t, strings.Contains(pageText(Compose(exampleFacts())), "Half-life"))
	f := exponentialFacts()
	test(f, 0).Diagnostics.LawReason = ""
	test(f, 0).Limits[0].Quantity = "time_constant"
	text = pageText(Compose(f))
	has(t, text, "Law: exponential towards the sink's pressure.\n")
	has(t, text, "Half-life\n") // beside a limit on the time constant too
}

func TestLeakFlowIsShownInDropsWithTheFactor(t *testing.T) {
	f := exampleFacts()
	flow := 0.12e-6 / 60 // 0.12 mL/min
	test(f, 0).Estimates["leak_flow"] = result.Estimate{Value: ptr(flow), U: ptr(flow / 20), Unit: "m³/s"}
	text := pageText(Compose(f))
	// 16 drops/mL; 0.006 mL/min · 1.960
	has(t, text, "Leak flow\n0.120\n0.012\nmL/min\n")
	has(t, text, "Leak flow, 16 drops/mL\n1.92\n0.19\ndrops/min\n")
}

func TestHyphensThatAreMinusSigns(t *testing.T) {
	for in, want := range map[string]string{
		"-1…250 bar": "−1…250 bar", "0…-1 bar": "0…−1 bar", "rate -0.31 ± 0.05": "rate −0.31 ± 0.05", "(-∞": "(−∞",
		"2026-11-25": "2026-11-25", "HV-1": "HV-1", "K-2026-118": "K-2026-118", "4-20 mA": "4-20 mA", "rest -": "rest -", "e-9": "e-9",
	} {
		assert.Equal(t, want, trueMinus(in))
	}
	f := exampleFacts()
	f.Result.Instruments[0].Range = "-1…250 bar"
	has(t, pageText(Compose(f)), "−1…250 bar\n")
}

func TestPapersAreFoundByName(t *testing.T) {
	for name, want := range map[string]Paper{"": A4, "a4": A4, "LETTER": Letter} {
		got, err := ParsePaper(name)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := ParsePaper("A3")
	assert.EqualError(t, err, `paper: found "A3", want A4 or Letter`)
}

func TestProgramIsNamedOnce(t *testing.T) {
	f := exampleFacts()
	f.Result.Assessment.Program = "holdbench 0.1.0-dev"
	assert.False(t, strings.Contains(pageText(ComposeSet(f)), "holdbench holdbench"))
	assert.Equal(t, "holdbench 0.1.0-dev", MetaOf(f.Result).Creator)
}

func TestReasonOfACircuitIsGivenOnce(t *testing.T) {
	f := twoCircuitFacts()
	f.Result.Reasons = []string{"circuit b: still settling"}
	test(f, 1).Reasons = []string{"still settling"}
	assert.Equal(t, 1, strings.Count(pageText(Compose(f)), "Circuit b: still settling.\n"))
}

func TestBlockMeans(t *testing.T) {
	var at, y []float64
	for i := range 100 {
		at = append(at, float64(i))
		y = append(y, float64(i/50))
	}
	middles, means := blockMeans(at, y, 2)
	assert.Equal(t, []float64{24.75, 74.25}, middles)
	assert.Equal(t, []float64{0, 1}, means)
	_, means = blockMeans(at[:5], y[:5], 40)
	assert.Equal(t, []float64{0}, means, "few readings, one mean")
}

func found(how string) *result.Found { return &result.Found{Method: "whole", How: how} }
