package record

import (
	"bufio"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var kills = flag.Int("kills", 8, "how often TestKilledWriterLeavesWhatWasFlushed kills a writer")

// childFolder names, in the environment of a test binary that is to be
// killed, the folder in which it records.
const childFolder = "HOLDBENCH_TEST_RECORD_CHILD"

const (
	childRows  = 200 // of each of the child's recordings
	childFlush = 20  // rows between two flushes
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(childFolder); dir != "" {
		if err := recordUntilKilled(dir); err != nil {
			fmt.Println("error", err)
		}
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// recordUntilKilled makes one recording after another and says on standard
// output, "<recording> <rows>", what it has flushed; rows -1: closed.
func recordUntilKilled(dir string) error {
	for n, end := 0, time.Now().Add(20*time.Second); time.Now().Before(end); n++ {
		w, err := Create(filepath.Join(dir, fmt.Sprint(n)), testMeta())
		if err != nil {
			return err
		}
		fmt.Println(n, 0)
		for i := range childRows {
			if err := w.Scan(scanNumber(i)); err != nil {
				return err
			}
			if (i+1)%childFlush == 0 {
				if err := w.Flush(); err != nil {
					return err
				}
				fmt.Println(n, i+1)
			}
		}
		if err := w.Close(); err != nil {
			return err
		}
		fmt.Println(n, -1)
	}
	return nil
}

func TestKilledWriterLeavesWhatWasFlushed(t *testing.T) {
	for range *kills {
		dir := t.TempDir()
		recording, rows := killWriter(t, dir, time.Duration(rand.Int64N(int64(150*time.Millisecond))))
		for n := range recording {
			requireClosed(t, filepath.Join(dir, fmt.Sprint(n)))
		}
		if recording < 0 {
			continue
		}
		if rows < 0 {
			requireClosed(t, filepath.Join(dir, fmt.Sprint(recording)))
			requireBegun(t, filepath.Join(dir, fmt.Sprint(recording+1)), 0)
		} else {
			requireBegun(t, filepath.Join(dir, fmt.Sprint(recording)), rows)
		}
	}
}

// killWriter starts a writer, kills it after a while and returns the last
// recording that it spoke of, -1 if none, and what it had flushed of it.
func killWriter(t *testing.T, dir string, after time.Duration) (recording, rows int) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childFolder+"="+dir)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	said := bufio.NewScanner(out)
	recording = -1
	var last string
	for said.Scan() {
		if last == "" {
			time.AfterFunc(after, func() { _ = cmd.Process.Kill() }) // already over: seen below
		}
		last = said.Text()
		require.False(t, strings.HasPrefix(last, "error"), last)
	}
	require.Error(t, cmd.Wait(), "it ended before it was killed")
	if last != "" {
		_, err = fmt.Sscan(last, &recording, &rows)
		require.NoError(t, err)
	}
	return recording, rows
}

func requireClosed(t *testing.T, dir string) {
	t.Helper()
	r, err := Open(dir)
	require.NoError(t, err)
	require.Equal(t, StateClosed, r.State)
	require.Empty(t, r.Findings)
	readNumbers(t, r, childRows)
}

// requireBegun requires at least rows rows; a folder of which nothing was
// said may be no recording yet.
func requireBegun(t *testing.T, dir string, rows int) {
	t.Helper()
	r, err := Open(dir)
	if rows == 0 && errors.Is(err, fs.ErrNotExist) {
		return
	}
	require.NoError(t, err)
	n := column(t, r.Series(), "trapped_a").Len()
	require.GreaterOrEqual(t, n, rows)
	readNumbers(t, r, n)
	for _, f := range r.Findings {
		require.True(t, strings.HasPrefix(f, "torn end: "), f)
	}
	if r.State == StateClosed {
		require.Equal(t, childRows, n)
		require.Empty(t, r.Findings)
	}
}
