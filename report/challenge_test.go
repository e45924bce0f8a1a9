package report

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/challenge"
	"holdbench/analysis/si"
	"holdbench/report/result"
)

const barPerMinute = 1e5 / 60

func challengesExample() Challenges {
	b := ChallengedBench{Bench: "Bench 3", Quantity: "decay_rate", Kind: si.PressureRate}
	var trials []challenge.Trial
	for i, d := range []float64{0.01, -0.02, 0.03, 0.2} {
		r := ChallengedRun{Code: "K" + string(rune('1'+i)), Serial: "HV1-00001", At: time.Date(2026, 9, 14+i, 6, 0, 0, 0, time.UTC),
			Expected: 0.3 * barPerMinute, Measured: (0.3 + d) * barPerMinute, Difference: d * barPerMinute, Allowed: 0.125 * barPerMinute, U: 0.01 * barPerMinute,
			Outcome: "passed", Readings: "PASS"}
		t := challenge.Trial{Expected: r.Expected, Measured: r.Measured, Outcome: challenge.Passed, Cleared: true}
		if d > 0.125 {
			r.Outcome, r.Readings, t = "failed", "FAIL", challenge.Trial{Expected: r.Expected, Measured: r.Measured, Outcome: challenge.Failed, Alarm: true}
		}
		b.Runs, trials = append(b.Runs, r), append(trials, t)
	}
	b.Report = challenge.ReportOf(trials, 0.25*barPerMinute, 0.5*barPerMinute)
	return Challenges{Benches: []ChallengedBench{b}, Program: "holdbench test"}
}

func TestChallengesPageSaysWhatTheRunsSay(t *testing.T) {
	text := pageText(ChallengesDocument(challengesExample()).Pages)
	for _, want := range []string{
		"Bench 3: Decay rate", "3 of 4, one-sided 95 % bounds 24.86 % and 98.73 %", "0.0550 bar/min, left in", "1 of 4, one-sided 95 % bounds 1.27 % and 75.14 %",
		"measured less expected [bar/min]", "K4", "failed",
	} {
		has(t, text, want)
	}
	has(t, text, "EPA/530/UST-90/004; no authority has approved")
	assert.NotContains(t, text, "certified")

	one := challengesExample()
	one.Benches[0].Runs = one.Benches[0].Runs[:1]
	one.Benches[0].Report = challenge.ReportOf([]challenge.Trial{{Outcome: challenge.Unknown, Expected: math.NaN(), Measured: math.NaN()}}, 1, 2)
	has(t, pageText(ChallengesDocument(one).Pages), strings.TrimPrefix(challenge.ErrFewRuns.Error(), "challenge: "))
}

func challengedFacts() Facts {
	f := exampleFacts()
	f.Result.Verdict = "INCONCLUSIVE"
	figure := func(x float64) result.ChallengeFigure { return result.ChallengeFigure{Value: ptr(x), U: ptr(20)} }
	f.Result.Challenge = &result.Challenge{Code: "K9", Circuit: "a", Quantity: "decay_rate", Outcome: "passed", Allowed: ptr(200), Limit: ptr(800),
		Known: figure(400), Own: figure(100), Expected: figure(500), Measured: figure(510), Difference: figure(10), Reasons: []string{"agreement may be chance"}}
	return f
}

func TestAChallengesOwnPagesSayThatTheUnitIsNotJudged(t *testing.T) {
	text := pageText(ComposeSet(challengedFacts()))
	has(t, text, "Known-leak challenge K9 of the bench: passed. The unit is not judged.")
	has(t, text, "Known-leak challenge")
	has(t, text, "a quarter of the limit")
	has(t, text, "agreement may be chance")
	assert.NotContains(t, pageText(ComposeSet(exampleFacts())), "challenge")
}

func TestCharacterisationPageSaysFiguresRunsAndExpiry(t *testing.T) {
	f := Characterisation{Kind: "Stiffness", Bench: "Bench 3", Model: "HV-1", Circuit: "a", Fluid: "oil", PressureLow: 80e5, PressureHigh: 120e5,
		Date: time.Date(2026, 9, 14, 0, 0, 0, 0, time.UTC), Expiry: time.Date(2027, 3, 14, 0, 0, 0, 0, time.UTC),
		Rows: [][3]string{{"stiffness (relaxed)", "12.0 ± 0.3 bar/mL (95 %)", "one run"}}, Runs: [][3]string{{"run-1", "HV1-00001", "2026-09-14 06:00"}},
		Notes: []string{"a quick step reads 1.16"}, Refused: []string{"run run-2: not relaxed"}, Display: si.DefaultDisplay,
		Curves: []CharacterisationCurve{{Title: "run run-1", Time: []float64{0, 60, 120}, Measured: []float64{1e7, 1.01e7, 1e7}, Fitted: []float64{1e7, 1e7, 1e7}}}}
	text := pageText(CharacterisationDocument(f).Pages)
	for _, want := range []string{"Stiffness", "80 to 120 bar", "2027-03-14", "12.0 ± 0.3 bar/mL (95 %)", "run-1", "a quick step reads 1.16", "run run-2: not relaxed", "pressure [bar]", "residual [bar]"} {
		has(t, text, want)
	}
	f.PressureLow, f.Expiry = math.NaN(), time.Time{}
	has(t, pageText(CharacterisationDocument(f).Pages), "not stated")
}
