package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"github.com/spf13/cobra"

	"holdbench/daq/link"
	"holdbench/daq/strict"
)

// traceFlag adds --trace FILE, for every command that opens a line.
func traceFlag(cmd *cobra.Command, into *string) {
	cmd.Flags().StringVar(into, "trace", "", "`FILE` that keeps every byte sent and received, with its time and what was made of it")
}

// openTrace begins a byte trace in the file named, for bench.WireOptions.Trace
// or link.Options.Trace. end must be called when the ports are closed. Without
// a path trace is nil and end does nothing. A disk that is full ends the trace
// and never the command: it is said once on w.
func openTrace(path string, w io.Writer) (trace func(link.Traced), end func(), err error) {
	if path == "" {
		return nil, func() {}, nil
	}
	f, err := createTrace(path)
	if err != nil {
		return nil, nil, err
	}
	say := func(err error) { fmt.Fprintf(w, "trace: %v; the trace ends here, everything else goes on\n", err) }
	t := link.NewTrace(f, time.Now(), say)
	end = func() {
		writing := t.Close() // said already
		if closing := f.Close(); closing != nil && writing == nil {
			say(closing)
		}
	}
	return t.Add, end, nil
}

// createTrace makes the file, and replaces a trace of that name; any other
// file is left alone.
func createTrace(path string) (*os.File, error) {
	refused := func(found, want string) error {
		return &strict.Error{Field: "--trace", Found: strict.Quote(path) + found, Want: want}
	}
	ours, err := replaceable(path)
	if err != nil {
		return nil, refused("", "a file to be written ("+err.Error()+")")
	}
	if !ours {
		return nil, refused(", which holds something else", "a new file, or an earlier trace to replace")
	}
	f, err := os.Create(path)
	if err != nil {
		return nil, refused("", "a file to be written ("+err.Error()+")")
	}
	return f, nil
}

// replaceable says that nothing of that name would be lost: there is none, it
// is empty, a trace, or no file on a disk.
func replaceable(path string) (bool, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	if err != nil || !info.Mode().IsRegular() || info.Size() == 0 {
		return true, err
	}
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	head := make([]byte, min(int64(len(link.TraceHead)), info.Size()))
	_, err = io.ReadFull(f, head)
	return string(head) == link.TraceHead, errors.Join(err, f.Close())
}
