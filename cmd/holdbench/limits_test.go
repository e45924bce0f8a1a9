package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/report/result"
)

// A limit never looks like none, however small it is in the display unit.
func TestLimitIsShownWithAllItsDigits(t *testing.T) {
	for _, c := range []struct {
		written string
		value   float64 // bar/min
		shown   string
	}{
		{"0.5 bar/min", 0.5, "0.500 bar/min"},
		{"0.01 bar/h", 0.01 / 60, "0.0001667 bar/min (0.01 bar/h)"},
		{"0.0002 bar/min", 0.0002, "0.0002000 bar/min"},
	} {
		l := result.Limit{Quantity: "decay_rate", Bound: "max", Value: c.value * 1e5 / 60, Written: c.written, Verdict: "PASS"}
		assert.Contains(t, limitText("a", l, result.Estimate{}, si.DefaultDisplay, 1), "limit max "+c.shown+": PASS")
	}
}

func TestUnknownEstimateSaysWhy(t *testing.T) {
	l := result.Limit{Quantity: "other_circuit_rise", Bound: "max", Value: 1e5, Verdict: "INCONCLUSIVE",
		Reason: "Rise of the other circuit: no other circuit is recorded"}
	assert.Equal(t, "other_circuit_rise unknown (no other circuit is recorded), limit max 1.000 bar: INCONCLUSIVE",
		limitText("a", l, result.Estimate{}, si.DefaultDisplay, 1))
}
