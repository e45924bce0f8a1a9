package main

import (
	"fmt"
	"io"
	"time"

	"holdbench/analysis"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/strict"
)

// expectedTemperatureChange is what a hold in a hall without heating or
// draught is taken to see before anything was measured: common practice, no
// source.
const expectedTemperatureChange = 0.2 // K

// warnUnresolvable says before a test which limits it cannot decide reliably,
// or refuses the test when the procedure says so.
func warnUnresolvable(w io.Writer, b *bench.Bench, p *procedure.Procedure, position bench.Position) error {
	for _, c := range position.Circuits {
		resolution := analysis.Resolvable(prospect(b, p, c))
		for _, l := range p.Limits {
			if resolution.Resolves(l) {
				continue
			}
			fault := &strict.Error{
				File: p.Path, Field: fmt.Sprintf("circuit %s: limit on %s", c.Name, l.Quantity), Found: l.Written,
				Want: "at least " + resolution.InWords() + " on the decay rate, the smallest that this hold can decide reliably on this bench",
			}
			if p.Unresolvable == "refuse" {
				return fault
			}
			fmt.Fprintln(w, "warning: "+fault.Error())
		}
	}
	return nil
}

// prospect is what bench file and characterisation let expect of a hold.
func prospect(b *bench.Bench, p *procedure.Procedure, c bench.Circuit) analysis.Prospect {
	hold, _ := p.Step(procedure.Hold)
	out := analysis.Prospect{Duration: hold.Duration.Seconds(), TemperatureChange: expectedTemperatureChange}
	if ch, _, ok := b.Channel(c.Trapped); ok {
		out.Noise, out.Drift = ch.Resolution, ch.DriftU
		out.Readings = expectedReadings(b, ch, hold.Duration)
	}
	if ch, _, ok := b.Channel(c.Temperature); ok {
		out.TemperatureResolution = ch.Resolution
		out.TemperatureReadings = expectedReadings(b, ch, hold.Duration)
	}
	known, _ := b.Characterisation(p.Model, c.Name, p.Fluid, p.TestPressure, time.Now())
	if known != nil {
		out.ThermalCoefficient = known.ThermalCoefficient
		if known.Noise != nil {
			out.Noise = known.Noise.Value
		}
	}
	return out
}

func expectedReadings(b *bench.Bench, ch bench.Channel, hold time.Duration) int {
	for _, in := range b.Instruments {
		if in.Name == ch.Instrument && in.Interval > 0 {
			return int(hold / in.Interval)
		}
	}
	return 0
}
