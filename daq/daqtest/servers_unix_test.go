//go:build linux || darwin

package daqtest_test

import (
	"bufio"
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// required is set where a missing tool is a failure: .ci/run installs them.
const required = "HOLDBENCH_SERVERS"

// missing says that a tool is not here: a skip, or a failure where it was
// promised.
func missing(t testing.TB, what, debian string) {
	t.Helper()
	if os.Getenv(required) != "" {
		t.Fatalf("%s is missing (Debian's %s), and %s is set", what, debian, required)
	}
	t.Skipf("%s is missing (Debian's %s); .ci/run installs it and runs this", what, debian)
}

// started runs a program until the test ends, and returns what it says after
// the word "ready".
func started(t testing.TB, name string, args ...string) string {
	t.Helper()
	cmd := exec.Command(name, args...)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // it may have ended with its terminal
		_ = cmd.Wait()
		if t.Failed() {
			t.Logf("%s: %s", filepath.Base(name), complaints.String())
		}
	})
	line := make(chan string, 1)
	go func() {
		said, err := bufio.NewReader(out).ReadString('\n')
		if err != nil {
			said = "it ended: " + err.Error()
		}
		line <- said
	}()
	select {
	case said := <-line:
		after, ok := strings.CutPrefix(strings.TrimSpace(said), "ready")
		require.True(t, ok, "%s said %q", name, said)
		return strings.TrimSpace(after)
	case <-time.After(30 * time.Second):
		t.Fatalf("%s does not begin", name)
		return ""
	}
}

// terminals is a pair of pseudo-terminals joined by socat.
func terminals(t testing.TB) (server, program string) {
	t.Helper()
	socat, err := exec.LookPath("socat")
	if err != nil {
		missing(t, "socat", "socat")
	}
	dir := t.TempDir()
	server, program = filepath.Join(dir, "server"), filepath.Join(dir, "program")
	cmd := exec.Command(socat, "pty,raw,echo=0,link="+server, "pty,raw,echo=0,link="+program)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // it may have ended with its terminals
		_ = cmd.Wait()
	})
	require.Eventually(t, func() bool {
		_, one := os.Stat(server)
		_, other := os.Stat(program)
		return one == nil && other == nil
	}, 10*time.Second, 5*time.Millisecond, "socat made no terminals")
	return server, program
}

// compiled builds one of testdata's C programs against libmodbus.
func compiled(t testing.TB, name string) string {
	t.Helper()
	cc, err := exec.LookPath("cc")
	if err != nil {
		missing(t, "a C compiler", "gcc")
	}
	header := "/usr/include/modbus"
	if _, err := os.Stat(filepath.Join(header, "modbus.h")); err != nil {
		missing(t, "libmodbus", "libmodbus-dev")
	}
	program := filepath.Join(t.TempDir(), name)
	out, err := exec.Command(cc, "-O2", "-Wall", "-Werror", "-I"+header, "-o", program,
		filepath.Join("testdata", name+".c"), "-lmodbus").CombinedOutput()
	require.NoError(t, err, string(out))
	return program
}

// libmodbus is a slave played by libmodbus; the port leads to it.
func libmodbus(t testing.TB) (port string) {
	server, program := terminals(t)
	started(t, compiled(t, "libmodbus_server"), server)
	return program
}

// pymodbus is a slave played by pymodbus, on a terminal or by Modbus TCP.
func pymodbus(t testing.TB, tcp bool) (port string) {
	const python = "/usr/bin/python3"
	if exec.Command(python, "-c", "import pymodbus.server.async_io, serial_asyncio").Run() != nil {
		missing(t, "pymodbus", "python3-pymodbus")
	}
	script := filepath.Join("testdata", "pymodbus_server.py")
	if tcp {
		return "tcp://127.0.0.1:" + started(t, python, script, "tcp")
	}
	server, program := terminals(t)
	started(t, python, script, server)
	return program
}
