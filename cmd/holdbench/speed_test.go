package main

import (
	"encoding/csv"
	"image"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"holdbench/analysis"
	"holdbench/daq/record"
	"holdbench/report/result"
)

// Each BenchmarkSpeed has two parts: what the README claims, and something
// else in the same run to hold it against (.ci/speed makes the table).

// speedRecording is one recording of the demo, for benchmarks.
func speedRecording(b *testing.B) string {
	b.Helper()
	demo, err := demoOnce()
	require.NoError(b, err)
	found, err := filepath.Glob(filepath.Join(demo, "HV1-00103_*", "datapackage.json"))
	require.NoError(b, err)
	require.Len(b, found, 1)
	return filepath.Dir(found[0])
}

func parts(b *testing.B, ours, against func() error) {
	for _, part := range []struct {
		name string
		do   func() error
	}{{"ours", ours}, {"against", against}} {
		b.Run(part.name, func(b *testing.B) {
			for b.Loop() {
				if err := part.do(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// plainCSV reads a recording's readings with the standard library and does
// nothing with them.
func plainCSV(folder string) func() error {
	return func() error {
		f, err := os.Open(filepath.Join(folder, "readings.csv"))
		if err != nil {
			return err
		}
		defer f.Close()
		r := csv.NewReader(f)
		r.ReuseRecord = true
		for {
			switch _, err := r.Read(); err {
			case nil:
			case io.EOF:
				return nil
			default:
				return err
			}
		}
	}
}

// Judging a hold of 5 min at 10 Hz, against reading its CSV with encoding/csv.
func BenchmarkSpeedJudgeHold(b *testing.B) {
	folder := speedRecording(b)
	rec, err := record.Open(folder)
	require.NoError(b, err)
	run, err := result.Read(rec)
	require.NoError(b, err)
	holds := run.Holds()
	parts(b, func() error {
		for _, h := range holds {
			analysis.Assess(h)
		}
		return nil
	}, plainCSV(folder))
}

// From a recording's folder to its result, against reading its CSV with
// encoding/csv.
func BenchmarkSpeedFolderToResult(b *testing.B) {
	folder := speedRecording(b)
	parts(b, func() error {
		rec, err := record.Open(folder)
		if err != nil {
			return err
		}
		_, _, _, err = result.Assess(rec, result.Options{Number: 1})
		return err
	}, plainCSV(folder))
}

// Composing a result's page and drawing it to PDF and PNG, against encoding
// an empty picture of the same size with image/png.
func BenchmarkSpeedPDFAndPNG(b *testing.B) {
	rec, err := record.Open(speedRecording(b))
	require.NoError(b, err)
	r, assessments, run, err := result.Assess(rec, result.Options{Number: 1})
	require.NoError(b, err)
	f := styleFlags{units: "bar,°C", paper: "A4"}
	shown, err := f.parse()
	require.NoError(b, err)
	facts, err := factsOf("result.json", r, assessments, run, shown)
	require.NoError(b, err)
	const widthAt200DPI, heightAt200DPI = 1654, 2339
	empty := image.NewRGBA(image.Rect(0, 0, widthAt200DPI, heightAt200DPI))
	parts(b, func() error {
		_, err := drawPages(facts, filepath.Join(b.TempDir(), "page.pdf"), filepath.Join(b.TempDir(), "page.png"))
		return err
	}, func() error { return png.Encode(io.Discard, empty) })
}

// Starting the program, against starting the go command.
func BenchmarkSpeedStart(b *testing.B) {
	dir := b.TempDir()
	program := filepath.Join(dir, "holdbench.exe")
	out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(b, err, string(out))
	parts(b, func() error { return exec.Command(program, "--version").Run() },
		func() error { return exec.Command("go", "version").Run() })
}
