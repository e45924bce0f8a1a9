//go:build linux || darwin

package main

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// loggerFile writes an invented record of the documented header: held all the
// time, slowly leaking, cooling a little.
func loggerFile(b *testing.B, seconds, rate int) string {
	b.Helper()
	path := filepath.Join(b.TempDir(), "hold.csv")
	f, err := os.Create(path)
	require.NoError(b, err)
	w := bufio.NewWriterSize(f, 1<<20)
	fmt.Fprintln(w, "time [s],pressure_a [bar],temperature [degC],ambient [degC]")
	random := rand.New(rand.NewPCG(1, 1))
	row := make([]byte, 0, 64)
	for i := range seconds * rate {
		at := float64(i) / float64(rate)
		share := at / float64(seconds)
		row = strconv.AppendFloat(row[:0], at, 'f', 2, 64)
		row = strconv.AppendFloat(append(row, ','), 100-0.8*share+0.01*random.NormFloat64(), 'f', 3, 64)
		row = strconv.AppendFloat(append(row, ','), 20-0.1*share+0.02*random.NormFloat64(), 'f', 2, 64)
		row = append(row, ",21.5\n"...)
		w.Write(row)
	}
	require.NoError(b, w.Flush())
	require.NoError(b, f.Close())
	return path
}

// pandasPython is a Python that has pandas, SciPy and matplotlib, or nothing.
func pandasPython() string {
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(python, "-c", "import pandas, scipy, matplotlib").Run() == nil {
			return python
		}
	}
	return ""
}

// process runs a command for the benchmark and reports the largest memory
// that it took.
func process(b *testing.B, accept int, name string, args ...string) {
	b.Helper()
	var most int64
	for b.Loop() {
		cmd := exec.Command(name, args...)
		out, err := cmd.CombinedOutput()
		if code := cmd.ProcessState.ExitCode(); code != 0 && code != accept {
			b.Fatalf("%s: exit code %d, %v\n%s", name, code, err, out)
		}
		if usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
			most = max(most, int64(usage.Maxrss))
		}
	}
	if runtime.GOOS == "darwin" {
		most /= 1024 // bytes there, KiB elsewhere
	}
	b.ReportMetric(float64(most)/1024, "MiB")
}

// A logger's file to verdict, JSON, PDF and PNG, as processes of their own,
// against pandas, SciPy and matplotlib doing the same (Debian's packages;
// where they are missing that part is skipped and says so).
func BenchmarkSpeedAssessFile(b *testing.B) {
	for _, record := range []struct {
		name          string
		seconds, rate int
	}{{"5min10Hz", 300, 10}, {"24h10Hz", 86400, 10}, {"24h100Hz", 86400, 100}} {
		b.Run(record.name, func(b *testing.B) {
			program, err := programOnce()
			require.NoError(b, err)
			path := loggerFile(b, record.seconds, record.rate)
			out := filepath.Join(b.TempDir(), "out")
			b.Run("ours", func(b *testing.B) {
				process(b, exitFail, program, "assess", path, "--limit", "decay_rate 0.2 bar/min", "--thermal-coefficient", "4.5 ± 0.3 bar/K",
					"--json", out+".json", "--pdf", out+".pdf", "--png", out+".png")
			})
			b.Run("against", func(b *testing.B) {
				python := pandasPython()
				if python == "" {
					b.Skip("no Python with pandas, SciPy and matplotlib here: install python3-pandas, python3-scipy and python3-matplotlib")
				}
				process(b, 0, python, filepath.Join("testdata", "speed", "pandas_assess.py"), path, "0", strconv.Itoa(record.seconds), out)
			})
		})
	}
}
