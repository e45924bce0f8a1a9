package simbench

import (
	"io/fs"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/procedure"
)

func TestCraneFilesParse(t *testing.T) {
	units := CraneLot()
	require.GreaterOrEqual(t, len(units), 7)
	seen := map[string]bool{}
	used := map[string]bool{}
	for _, u := range units {
		b, p, err := u.Load()
		require.NoError(t, err, u.Serial)
		used[u.Bench], used[u.Procedure], used[b.CharacterisationPath] = true, true, true
		assert.NoError(t, p.CheckSerial(u.Serial))
		assert.False(t, seen[u.Serial], "serial numbers are unique")
		seen[u.Serial] = true
		assert.NotEmpty(t, u.What)
		for _, c := range p.Circuits {
			ch, why := b.Characterisation(p.Model, c, p.Fluid, p.TestPressure, CraneStart)
			require.NotNil(t, ch, why)
			assert.Nil(t, ch.SettlingAmplitude, "hoses that settle are not characterised")
		}
		assert.Empty(t, b.Overdue(CraneStart))
		for _, l := range p.Limits {
			assert.True(t, strings.Contains(l.Source, "invented"))
		}
	}
	names, err := fs.Glob(CraneFiles(), "*.toml")
	require.NoError(t, err)
	assert.Len(t, used, len(names), "every file is used")
}

// hands is a clock whose time the test sets.
type hands struct {
	LockStep
	at time.Duration
}

func (h *hands) Now() time.Duration { return h.at }

// day is how a unit's test goes by CraneDelays: the truth at the hold's
// begin and end, and half a minute after the release.
func day(t *testing.T, u Unit) (start, end, after State) {
	t.Helper()
	b, p, err := u.Load()
	require.NoError(t, err)
	clock := &hands{}
	r, err := New(b, clock, 1)
	require.NoError(t, err)
	u.Prepare(r)
	for _, ph := range procedure.Phases {
		if ph == procedure.Hold {
			start = r.States()[0]
		}
		if ph == procedure.Release {
			end = r.States()[0]
		}
		u.OnPhase(r, ph)
		step, _ := p.Step(ph)
		clock.at += max(step.Duration, CraneDelays[ph])
	}
	clock.at += 30 * time.Second
	return start, end, r.States()[0]
}

// Each unit is what its title says, by figures that a perfect observer would
// have: raw loss and loss at constant temperature against the limit.
func TestCraneUnitsAreWhatTheyAreSaidToBe(t *testing.T) {
	const limit = 0.5 * barPerMinute
	got := map[string]struct{ raw, compensated float64 }{}
	for _, u := range CraneLot() {
		start, end, after := day(t, u)
		_, p, err := u.Load()
		require.NoError(t, err)
		assert.Greater(t, start.Trapped, p.StartLow, u.Title)
		assert.Less(t, start.Trapped, p.StartHigh, u.Title)
		assert.Less(t, end.Trapped, p.MaxPressure, u.Title)
		assert.Less(t, after.Trapped, p.SafePressure, u.Title)
		assert.Equal(t, u.CreepingFeed == 0, start.Feed < p.FeedBelow, u.Title)
		raw := (start.Trapped - end.Trapped) / 300
		warmer := end.Liquid - start.Liquid
		compensated := raw + u.Truth.Circuit.ThermalCoefficient*warmer/300
		t.Logf("%-30s raw %6.3f, compensated %6.3f bar/min", u.Title, raw/barPerMinute, compensated/barPerMinute)
		got[u.Title] = struct{ raw, compensated float64 }{raw / limit, compensated / limit}
	}
	good := got["good"]
	assert.Less(t, good.compensated, 0.2)
	assert.Greater(t, got["gross leak"].compensated, 3.0)
	cools := got["good, while the bench cools"]
	assert.Greater(t, cools.raw, 1.2, "the raw drop alone would fail it")
	assert.Less(t, cools.compensated, 0.2)
	warms := got["leak, while the bench warms"]
	assert.Less(t, warms.raw, 0.5, "the raw pressure looks fine")
	assert.Greater(t, warms.compensated, 1.5)
	assert.Greater(t, got["hoses settle, no leak"].compensated, 0.8, "settling large enough to matter")
	assert.Less(t, got["feed side not vented"].compensated, -1.0)
	poor := got["temperature known too poorly"]
	assert.InDelta(t, 0.8, poor.compensated, 0.1)
}
