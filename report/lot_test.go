package report

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// exampleLot has a unit of each verdict and each number of circuits.
func exampleLot() Lot {
	l := Lot{Title: "Slewing brakes, week 48", Note: "Demo data, invented", Display: exampleFacts().Display}
	for _, f := range []func() Facts{exampleFacts, leakingFacts, unclearFacts, twoCircuitFacts, foreignFacts, emptyFacts} {
		l.Rows = append(l.Rows, LotRowOf(f()))
	}
	return l
}

// largeLot has many units, among them names that hardly fit.
func largeLot(units int) Lot {
	l := exampleLot()
	l.Title = long("Slewing", 200)
	l.Rows = nil
	for i := range units {
		f := pageCases[i%len(pageCases)].facts()
		f.Result.SerialNumber += fmt.Sprintf("/%d", i)
		l.Rows = append(l.Rows, LotRowOf(f))
	}
	return l
}

func TestLotCountsItsVerdicts(t *testing.T) {
	l := exampleLot()
	// good, two circuits and the file pass; one leaks; one is unclear, and a
	// result without a verdict counts as such
	assert.Equal(t, "3 PASS, 1 FAIL, 2 INCONCLUSIVE", l.countsText())
	text := pageText(ComposeLot(l))
	for _, want := range []string{
		"Slewing brakes, week 48", "HV1-2026-00417", "HV1-2026-00418", "not stated", "page 1 of 1",
		"0.072 ± 0.026 bar/min", "Decay rate, circuit a", "0.50 bar/min", "at most",
	} {
		has(t, text, want+"\n")
	}
	has(t, strings.ReplaceAll(text, "\n", " "), "Decay rate above the limit. ")
	assert.Equal(t, 1+1, strings.Count(text, "FAIL\n"), "in the counts and at the unit")
}

func TestLotShowsEveryUnitOnAsManyPagesAsItTakes(t *testing.T) {
	for _, paper := range Papers {
		l := largeLot(60)
		l.Paper = paper
		pages := ComposeLot(l)
		require.Greater(t, len(pages), 3, paper.Name)
		text := strings.ReplaceAll(pageText(pages), "\n", "")
		for i := range l.Rows {
			if i%len(pageCases) != 4 { // the long name is cut after six lines
				has(t, text, fmt.Sprintf("/%d", i))
			}
		}
		has(t, text, fmt.Sprintf("page %d of %d", len(pages), len(pages)))
		checkLayout(t, pages)
	}
}

func TestLotWithoutUnitsOrLimits(t *testing.T) {
	has(t, pageText(ComposeLot(Lot{})), "The lot has no units.\n")
	f := exampleFacts()
	test(f, 0).Limits = nil
	checkLayout(t, ComposeLot(Lot{Rows: []LotRow{LotRowOf(f)}, Display: f.Display}))
}

func TestLotRowKeepsNoRecording(t *testing.T) {
	row := LotRowOf(exampleFacts())
	require.Len(t, row.curves, 1)
	assert.LessOrEqual(t, len(row.curves[0].time), 2*smallColumns+2)
	assert.InDelta(t, 300, row.curves[0].length, 1e-9)
	assert.InDelta(t, -0.5e5*5, row.curves[0].limit, 1e-6, "0.5 bar/min for 5 min")
}

func TestLotDocumentIsTheSameEachTimeAndLeadsToItsUnits(t *testing.T) {
	var a, b bytes.Buffer
	require.NoError(t, LotDocument(exampleLot()).WritePDF(&a))
	require.NoError(t, LotDocument(exampleLot()).WritePDF(&b))
	assert.True(t, bytes.Equal(a.Bytes(), b.Bytes()))
	assert.Equal(t, []string{
		"Lot summary", "HV1-2026-00417: PASS", "HV1-2026-00418: FAIL", "HV2-2026-01003: INCONCLUSIVE",
		"HV1-2026-00417: PASS", "HV1-2026-00417: PASS", "not stated: INCONCLUSIVE",
	}, outline(a.Bytes()))
}
