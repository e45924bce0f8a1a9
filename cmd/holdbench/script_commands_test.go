package main

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/simbench"
)

// exits CODE PROGRAM ARGS… runs a program and wants that exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARGS…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// rewrite FILE OLD NEW replaces text that must be there.
func rewrite(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: rewrite FILE OLD NEW")
	}
	path := ts.MkAbs(args[0])
	text, err := os.ReadFile(path)
	ts.Check(err)
	if !strings.Contains(string(text), args[1]) {
		ts.Fatalf("%s has no %q", args[0], args[1])
	}
	ts.Check(os.WriteFile(path, []byte(strings.ReplaceAll(string(text), args[1], args[2])), 0o666))
}

// simulates BENCH has the simulated instruments of a bench file answer
// for the rest of the story, on TCP ports; $PORT_rs485 is that of the link
// rs485, and so on.
func simulates(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: simulates BENCH")
	}
	b, err := bench.Load(ts.MkAbs(args[0]))
	ts.Check(err)
	rig, err := simbench.New(b, daq.NewWallClock(), 1)
	ts.Check(err)
	ctx, stop := context.WithCancel(context.Background())
	served, err := rig.Serve(ctx, simbench.ServeOptions{TCP: true})
	ts.Check(err)
	ts.Defer(func() {
		stop()
		ts.Check(served.Close())
	})
	for name, port := range served.Ports {
		ts.Setenv("PORT_"+name, port)
	}
}
