//go:build linux || darwin

package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/record"
	"holdbench/daq/simbench"
)

var kills = flag.Int("kills", 200, "how often a running run is killed")

// killers is how many runs are killed side by side.
const killers = 8

// A run that is killed at any moment loses nothing that was on the disk, and
// what is on the disk opens: nothing in it is damaged but its torn end.
func TestKilledRunsOpenWithEverythingThatWasOnTheDisk(t *testing.T) {
	program, err := programOnce()
	require.NoError(t, err)
	var all sync.WaitGroup
	rows := make([]int, killers)
	for k := range killers {
		all.Go(func() {
			random := rand.New(rand.NewPCG(20261125, uint64(k)))
			for range (*kills + killers - 1) / killers {
				rows[k] += killedRun(t, program, random)
			}
		})
	}
	all.Wait()
	total := 0
	for _, n := range rows {
		total += n
	}
	t.Logf("%d kills, %d rows found again", *kills, total)
	assert.Positive(t, total)
}

// killedRun starts a run, kills it at a random moment, and returns how many
// readings the recording then has.
func killedRun(t *testing.T, program string, random *rand.Rand) int {
	dir := t.TempDir()
	assert.NoError(t, os.CopyFS(dir, simbench.CraneFiles()))
	b, err := bench.Load(filepath.Join(dir, "bench.toml"))
	if !assert.NoError(t, err) {
		return 0
	}
	rig, err := simbench.New(b, daq.NewWallClock(), random.Uint64())
	assert.NoError(t, err)
	served, err := rig.Serve(context.Background(), simbench.ServeOptions{TCP: true})
	if !assert.NoError(t, err) {
		return 0
	}
	defer func() { assert.NoError(t, served.Close()) }()
	cmd := exec.Command(program, "run", "--bench", "bench.toml", "--procedure", "hold.toml", "--serial", "HV1-00001",
		"--port", "rs485="+served.Ports["rs485"], "--port", "thermometer="+served.Ports["thermometer"])
	cmd.Dir = dir
	stdin, err := cmd.StdinPipe()
	assert.NoError(t, err)
	defer stdin.Close()
	var screen bytes.Buffer
	cmd.Stdout, cmd.Stderr = &screen, &screen
	assert.NoError(t, cmd.Start())
	folder := ""
	for range 4000 {
		if found, _ := filepath.Glob(filepath.Join(dir, "HV1-00001_*", "datapackage.json")); len(found) == 1 {
			folder = filepath.Dir(found[0])
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
	time.Sleep(time.Duration(random.Int64N(int64(1500 * time.Millisecond))))
	onDisk, err := os.ReadFile(filepath.Join(folder, "readings.csv"))
	assert.True(t, err == nil || errors.Is(err, fs.ErrNotExist), err)
	assert.NoError(t, cmd.Process.Signal(syscall.SIGKILL))
	_ = cmd.Wait() // killed: its error says so and nothing else
	if !assert.NotEmpty(t, folder, "the run never began its recording: %s", screen.String()) {
		return 0
	}
	rec, err := record.Open(folder)
	if !assert.NoError(t, err) {
		return 0
	}
	assert.Equal(t, record.StateOpen, rec.State)
	for _, f := range rec.Findings {
		assert.True(t, strings.HasPrefix(f, "torn end"), f)
	}
	// The module's rows and the probe's; the first line is the header.
	trapped, _ := rec.Series().Column("trapped_a")
	body, _ := rec.Series().Column("body")
	rows := trapped.Len() + body.Len()
	assert.GreaterOrEqual(t, rows, bytes.Count(onDisk, []byte("\n"))-1, "what was on the disk before the kill")
	return rows
}
