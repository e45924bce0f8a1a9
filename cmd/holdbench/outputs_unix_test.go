//go:build linux || darwin

package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pumping is a run as a process of its own whose pump is on.
func pumping(t *testing.T) *bystander {
	s := newBystander(t)
	slow := strings.Replace(drivenProcedure(t), `duration = "12 s"`, `duration = "60 s"`, 1)
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "bench.toml"), []byte(benchWithOutputs(t, true)), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "hold.toml"), []byte(slow), 0o666))
	s.start(false, "hold.toml", direct)
	s.await("Raise circuit a")
	s.eventually(func() bool { return s.pumpOn() }, "the pump never started")
	return s
}

func (s *bystander) pumpOn() bool { return s.rig.Switched()[0] }

func (s *bystander) eventually(is func() bool, otherwise string) {
	s.t.Helper()
	require.Eventually(s.t, is, 10*time.Second, 10*time.Millisecond, otherwise)
}

// However a run ends while the pump is on, the pump is off after it, and nothing
// is opened.
func TestPumpIsOffHoweverTheProgramEnds(t *testing.T) {
	for name, end := range map[string]func(s *bystander){
		"interrupted once: the test is aborted": func(s *bystander) {
			require.NoError(t, s.cmd.Process.Signal(os.Interrupt))
			s.await("Test aborted: operator: Ctrl-C")
		},
		"aborted by word": func(s *bystander) {
			s.answer("abort hose burst")
			s.await("Test aborted")
		},
		"interrupted twice": func(s *bystander) { s.signalTwice(os.Interrupt) },
		"told to end":       func(s *bystander) { s.signalTwice(syscall.SIGTERM) },
		"terminal closed":   func(s *bystander) { s.signalTwice(syscall.SIGHUP) },
		"killed: the module's own watchdog": func(s *bystander) {
			require.NoError(t, s.cmd.Process.Kill())
		},
		"cable pulled and put in again": func(s *bystander) {
			require.NoError(t, s.rig.Unplug("rs485"))
			s.await("Test aborted: output pump")
			require.NoError(t, s.rig.Replug("rs485"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := pumping(t)
			end(s)
			s.eventually(func() bool { return !s.pumpOn() }, "the pump runs on")
			time.Sleep(300 * time.Millisecond)
			assert.Equal(t, []bool{false, false, false}, s.rig.Switched(), "nothing opened")
		})
	}
}

// signalTwice ends the process by two signals of a kind.
func (s *bystander) signalTwice(sig os.Signal) {
	require.NoError(s.t, s.cmd.Process.Signal(sig))
	s.await("Ctrl-C again leaves")
	require.NoError(s.t, s.cmd.Process.Signal(sig))
	s.exit()
}
