package analysis

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"holdbench/analysis/verdict"
)

// Looks taken one by one say at each, to the last digit, what all of them
// taken at once from the recording say.
func TestWatchSaysAtEachLookWhatAllAtOnceSay(t *testing.T) {
	for _, row := range []struct {
		name   string
		limits []string
		change func(*made)
	}{
		{"decided early", []string{"decay_rate 0.5 bar/min"}, func(m *made) { m.leak = 0.02 * barPerMin }},
		{"close to the limit", []string{"decay_rate 0.5 bar/min", "drop 3 bar"}, func(m *made) { m.leak = 0.495 * barPerMin }},
		{"warming", []string{"leak_rate 0.5 bar/min", "pressure_after 10 min min 90 bar"}, func(m *made) { m.ramp = 6 * kPerHour }},
		{"a reciprocal", []string{"time_constant min 20 min"}, func(m *made) { m.leak = 0.3 * barPerMin }},
		{"an absent quantity", []string{"leak_flow 0.5 mL/min", "decay_rate 0.5 bar/min"}, func(*made) {}},
		{"settling", []string{"decay_rate 0.6 bar/min"}, func(m *made) {
			m.add = func(s float64) float64 { return -2 * bar * (1 - math.Exp(-math.Max(s, 0)/60)) }
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			m := steadyHold()
			row.change(&m)
			for _, text := range row.limits {
				m.limits = append(m.limits, limit(t, text)...)
			}
			var w Watch
			everyLook(m.hold(), func(h Hold) {
				got, want := w.Assess(h), Assess(h)
				require.Equal(t, digits(want.Estimates), digits(got.Estimates))
				require.Equal(t, fmt.Sprintf("%+v", *want.Early), fmt.Sprintf("%+v", *got.Early))
				require.Equal(t, want.Verdict, got.Verdict)
				require.Equal(t, want.Reasons, got.Reasons)
				require.Equal(t, want.Advice, got.Advice)
			})
		})
	}
}

// everyLook gives the hold as each of ten looks at it finds it.
func everyLook(h Hold, see func(Hold)) {
	looks := Looks{Plan: []float64{20, 40, 75, 105, 140, 170, 210, 240, 270, 300}, Hold: 240}
	whole := h
	for i, at := range looks.Plan {
		looks.Taken = append(slices.Clone(looks.Taken), TakenLook{Number: i + 1, At: h.Start + at})
		h = whole.upTo(looks.Taken[i])
		with := looks
		h.Looks = &with
		see(h)
	}
}

// What a look said is kept: readings that it saw are not read again.
func TestWatchKeepsWhatLooksSaid(t *testing.T) {
	m := steadyHold()
	m.leak, m.limits = 0.495*barPerMin, limit(t, "decay_rate 0.5 bar/min")
	var w Watch
	var before Assessment
	judged := 0
	everyLook(m.hold(), func(h Hold) {
		a := w.Assess(h)
		seen := len(h.Looks.Taken) - 1
		if seen > 0 {
			require.Equal(t, fmt.Sprintf("%+v", before.Early.Looks), fmt.Sprintf("%+v", a.Early.Looks[:seen]))
		}
		if a.Early.Looks[seen].Judged {
			judged++
		}
		require.Len(t, w.looking.courses[0].looks, judged, "one look more, where it was judged")
		before = a
	})
	require.Greater(t, judged, 7)
}

// A Watch that is asked about another hold, plan or list of looks forgets.
func TestWatchBeginsAfreshWhereItDoesNotLead(t *testing.T) {
	m := steadyHold()
	m.leak, m.limits = 0.02*barPerMin, limit(t, "decay_rate 0.5 bar/min")
	h := m.hold()
	taken := []TakenLook{{1, h.Start + 60}, {2, h.Start + 150}}
	h.Looks = &Looks{Plan: []float64{60, 150, 300}, Hold: 300, Taken: taken}
	for name, change := range map[string]func(*Hold){
		"the same looks again": func(*Hold) {},
		"fewer looks":          func(h *Hold) { h.Looks.Taken = taken[:1] },
		"another instant":      func(h *Hold) { h.Looks.Taken = []TakenLook{{1, h.Start + 61}, taken[1], {3, h.Start + 300}} },
		"another plan":         func(h *Hold) { h.Looks.Plan = []float64{60, 150, 299, 300} },
		"another spending":     func(h *Hold) { h.Looks.Spending = verdict.OBrienFlemingLike },
		"another limit":        func(h *Hold) { h.Limits = limit(t, "decay_rate 0.1 bar/min") },
		"another start":        func(h *Hold) { h.Start++ },
		"no looks":             func(h *Hold) { h.Looks = nil },
	} {
		var w Watch
		w.Assess(h)
		other := h
		looks := *h.Looks
		other.Looks = &looks
		change(&other)
		got, want := w.Assess(other), Assess(other)
		require.Equal(t, digits(want.Estimates), digits(got.Estimates), name)
		require.Equal(t, want.Early, got.Early, name)
	}
}

// A limit on what no look knows is not decided, and ends no program.
func TestLimitOnWhatNoLookKnows(t *testing.T) {
	m := steadyHold()
	m.leak, m.limits = 0.02*barPerMin, limit(t, "leak_flow 0.5 mL/min")
	a := atLooks(m.hold(), 300, 60, 150, 300)
	require.Equal(t, verdict.Inconclusive, a.Verdict)
	first := a.Early.Looks[0].Limits[0]
	require.True(t, math.IsNaN(first.Information) && math.IsNaN(first.Pass) && math.IsNaN(first.Fail))

	m.limits = append(m.limits, limit(t, "decay_rate 0.5 bar/min")...)
	m.leak = 3 * barPerMin
	require.Equal(t, verdict.Fail, atLooks(m.hold(), 300, 60, 150, 300).Verdict, "the other limit is judged all the same")
}

func growing(b *testing.B) Hold {
	m := steadyHold()
	m.leak, m.limits = 0.199*barPerMin, []verdict.Limit{{Quantity: "decay_rate", Value: 0.2 * barPerMin}}
	return m.hold()
}

// Ten looks at a hold as it grows.
func BenchmarkTenLooksAsItGrows(b *testing.B) {
	h := growing(b)
	for b.Loop() {
		var w Watch
		everyLook(h, func(h Hold) { w.Assess(h) })
	}
}

// The same ten from a recording.
func BenchmarkTenLooksAtOnce(b *testing.B) {
	h := growing(b)
	everyLook(h, func(last Hold) { h = last })
	for b.Loop() {
		Assess(h)
	}
}
