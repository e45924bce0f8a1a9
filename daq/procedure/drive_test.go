package procedure_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

func TestDrivesOfPhasesAreRead(t *testing.T) {
	p, err := procedure.Parse("small.toml", []byte(broken(t, small,
		"[phase.stabilise]", "[phase.pressurise]\nend = \"operator\"\ntimeout = \"60 s\"\ndrive = [\"pump on\"]\n[phase.lock]\nduration = \"3 s\"\ndrive = [\"lock on\"]\n[phase.stabilise]",
		`timeout = "10 min"`, `drive = ["lock off", "vent on"]`)))
	require.NoError(t, err)
	for phase, want := range map[procedure.Phase][]procedure.Drive{
		procedure.Fill:       nil,
		procedure.Pressurise: {{Role: daq.Pump, On: true}},
		procedure.Lock:       {{Role: daq.Lock, On: true}},
		procedure.Release:    {{Role: daq.Lock}, {Role: daq.Vent, On: true}},
	} {
		s, _ := p.Step(phase)
		assert.Equal(t, want, s.Drive, phase)
	}
	assert.Equal(t, []daq.Role{daq.Pump, daq.Lock, daq.Vent}, p.Drives())
	s, _ := p.Step(procedure.Pressurise)
	assert.Equal(t, time.Minute, s.Timeout)
}

func TestEachFaultOfDrives(t *testing.T) {
	const wanted = `what to switch, e.g. drive = ["pump on"]; a role (pump, lock, vent) and on or off`
	phase := func(name, rest string) []string {
		return []string{"[phase.stabilise]", "[phase." + name + "]\n" + rest + "\n[phase.stabilise]"}
	}
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"no list", phase("lock", "duration = \"3 s\"\ndrive = \"lock on\""), []string{
			`small.toml:17: phase: lock: drive: found "lock on", want ` + wanted}},
		{"nonsense", phase("lock", "duration = \"3 s\"\ndrive = [\"heater on\", \"lock\", \"vent open\"]"), []string{
			`small.toml:17: phase: lock: drive: item 1: found "heater on", want ` + wanted,
			`small.toml:17: phase: lock: drive: item 2: found "lock", want ` + wanted,
			`small.toml:17: phase: lock: drive: item 3: found "vent open", want ` + wanted}},
		{"twice", phase("lock", "duration = \"3 s\"\ndrive = [\"lock on\", \"lock off\"]"), []string{
			`small.toml:17: phase: lock: drive: item 2: found "lock off", after another of the same role, want each role once in a phase`}},
		{"pump without an end", phase("pressurise", "end = \"operator\"\ndrive = [\"pump on\"]"), []string{
			`small.toml:17: phase: pressurise: drive: item 1: found "pump on", want a timeout beside it, e.g. timeout = "60 s": after it the pump is switched off`}},
		{"pump in release", []string{`timeout = "10 min"`, `drive = ["pump on"]`}, []string{
			`small.toml:21: phase: release: drive: item 1: found "pump on", want no pump while the pressure is released`}},
		{"in the hold", []string{`duration = "5 min"`, "duration = \"5 min\"\ndrive = [\"vent on\"]"}, []string{
			`small.toml:19: phase: hold: drive: found ["vent on"], want no such key here (nothing is switched while the unit settles or holds)`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := procedure.Parse("small.toml", []byte(broken(t, small, c.edits...)))
			assert.Equal(t, c.want, lines(err))
		})
	}
}
