//go:build linux || darwin

package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/simbench"
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

// check says whether something switches a module's outputs off when the program
// is killed, and itself writes nothing, with or without leave.
func TestCheckAsksForTheWatchdogAndWritesNothing(t *testing.T) {
	for _, c := range []struct {
		name, bench string
		code        int
		says        string
	}{
		{"watched", benchWithOutputs(t, true), 0, "instrument module: its own communication watchdog switches its outputs off after 1 s, says the bench file"},
		{"not watched", strings.Replace(benchWithOutputs(t, true), `watchdog = "1 s"`, "", 1), exitBadInput,
			"instrument module: no communication watchdog stated: when this program is killed or the machine stops, nothing switches its outputs off"},
		{"not driven", strings.Replace(benchWithOutputs(t, false), `watchdog = "1 s"`, "", 1), 0, "none of them is driven: the bench file does not say outputs = true"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := newBystander(t)
			path, trace := filepath.Join(s.dir, "bench.toml"), filepath.Join(s.dir, "trace.txt")
			require.NoError(t, os.WriteFile(path, []byte(c.bench), 0o666))
			b, err := bench.Load(path)
			require.NoError(t, err)
			s.rig, err = simbench.New(b, daq.NewWallClock(), 1)
			require.NoError(t, err)
			served, err := s.rig.Serve(t.Context(), simbench.ServeOptions{})
			require.NoError(t, err)
			t.Cleanup(func() { assert.NoError(t, served.Close()) })
			code := 0
			root := newRoot(&code)
			var out strings.Builder
			root.SetOut(&out)
			root.SetErr(&out)
			root.SetArgs([]string{"check", "--bench", path, "--seconds", "2", "--trace", trace,
				"--port", "rs485=" + served.Ports["rs485"], "--port", "thermometer=" + served.Ports["thermometer"]})
			require.NoError(t, root.Execute())
			assert.Equal(t, c.code, code, out.String())
			assert.Contains(t, out.String(), c.says)
			assert.Regexp(t, `warning_a +on +`, out.String())
			assert.Regexp(t, `pump_runs +off +`, out.String())
			text, err := os.ReadFile(trace)
			require.NoError(t, err)
			sent := regexp.MustCompile(`(?m)^\S+\trs485\tsent\t01 (..)`).FindAllStringSubmatch(string(text), -1)
			require.NotEmpty(t, sent)
			for _, f := range sent {
				assert.Contains(t, []string{"01", "02", "03", "04"}, f[1], "a function that reads")
			}
		})
	}
}
