package main

import (
	"holdbench/analysis/challenge"
	"holdbench/report/result"
)

// Exit codes; anything else is a fault of the program.
const (
	exitPass         = 0
	exitFault        = 1
	exitBadInput     = 3
	exitFail         = 10
	exitInconclusive = 11
	exitNotCompleted = 12
)

// gravity orders exit codes: with several inputs the gravest counts.
var gravity = map[int]int{exitPass: 0, exitInconclusive: 1, exitFail: 2, exitNotCompleted: 3, exitBadInput: 4, exitFault: 5}

// gravest returns the graver of two exit codes, in the order 3, 12, 10, 11, 0.
func gravest(a, b int) int {
	if gravity[b] > gravity[a] {
		return b
	}
	return a
}

// exitOf returns the exit code that a result stands for; of a challenge that of
// the bench.
func exitOf(r *result.Result) int {
	if c := r.Challenge; c != nil && r.Completed {
		switch c.Outcome {
		case challenge.Passed.String():
			return exitPass
		case challenge.Failed.String():
			return exitFail
		}
		return exitInconclusive
	}
	switch {
	case !r.Completed && r.Verdict != "FAIL":
		return exitNotCompleted
	case r.Verdict == "PASS":
		return exitPass
	case r.Verdict == "FAIL":
		return exitFail
	}
	return exitInconclusive
}

// faultError marks what is neither the user's input nor a verdict: the
// machine or the program let us down.
type faultError struct{ error }

func (f faultError) Unwrap() error { return f.error }

func fault(err error) error {
	if err == nil {
		return nil
	}
	return faultError{err}
}
