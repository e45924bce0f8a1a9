package result

import (
	"math"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
)

// ExpectedTemperatureChange is what a hold in a hall without heating or
// draught is taken to see before anything was measured, K: common practice, no
// source.
const ExpectedTemperatureChange = 0.2

// Basis says in words where what a Prospect reckons with comes from.
type Basis struct {
	Noise, Drift, Swing string
	// SwingAssumed: nobody stated the temperature's swing.
	SwingAssumed bool
	// NotCharacterised says why there is no characterisation; empty where
	// there is one.
	NotCharacterised string
}

// noReadings are those of a channel before a test.
func noReadings(string) series.Column { return series.Column{} }

// Expected is what bench file, characterisation and procedure let expect of a
// circuit's hold at a time. Where no noise is characterised, a reading is
// taken to scatter by its resolution; where the procedure states no swing of
// the temperature, it is ExpectedTemperatureChange.
func Expected(b *bench.Bench, p *procedure.Procedure, c bench.Circuit, at time.Time) (out analysis.Prospect, from Basis) {
	hold, _ := p.Step(procedure.Hold)
	out = analysis.Prospect{
		Duration: hold.Duration.Seconds(), SinceLock: sinceLock(p), TestPressure: p.TestPressure,
		NoTemperature: c.Temperature == "",
		Transducer:    transducer(b, c.Trapped, p.TestPressure), Thermometer: thermometer(b, c.Temperature, noReadings),
	}
	out.Noise = out.Transducer.Resolution
	out.Readings, out.TemperatureReadings = expectedReadings(b, c.Trapped, hold.Duration), expectedReadings(b, c.Temperature, hold.Duration)
	from = Basis{Noise: "the transducer's resolution: nothing is characterised", Drift: "bench file", Swing: "stated by the procedure"}
	swing := p.TemperatureSwing
	if from.SwingAssumed = !(swing > 0); from.SwingAssumed {
		swing, from.Swing = ExpectedTemperatureChange, "assumed; --temperature-swing changes it, temperature_swing in the procedure states it"
	}
	out.TemperatureChange, out.Swing, out.SwingOver = swing, swing, out.Duration
	known, why := b.Characterisation(p.Model, c.Name, p.Fluid, p.TestPressure, at)
	if known == nil {
		out.Known, _ = derived(out.Known, b, p, c.Name, UsualTemperature, why)
		from.NotCharacterised = why
		return out, from
	}
	out.Known, _ = derived(Known(known), b, p, c.Name, UsualTemperature, "")
	if known.Noise != nil {
		out.Noise, from.Noise = known.Noise.Value, "characterised"
		if known.NoiseAutocorrelation > 0 {
			out.Inflation, _ = fit.AR1Inflation(known.NoiseAutocorrelation, max(out.Readings, 1))
		}
	}
	if drift := characterisedDrift(known); drift > out.Transducer.Drift {
		out.Transducer.Drift, from.Drift = drift, "characterised; it is more than the bench file's"
	}
	return out, from
}

// characterisedDrift is what the drift of the bench alone makes uncertain, Pa/s,
// where nothing takes it out of the readings: the root mean square of what was
// found, as if the next one may go either way. 0 without one.
func characterisedDrift(c *bench.Characterisation) float64 {
	if c.Drift == nil {
		return 0
	}
	return math.Hypot(c.Drift.Value, c.Drift.StdUncertainty)
}

// sinceLock is the time between locking and the hold as far as the procedure
// states it, s.
func sinceLock(p *procedure.Procedure) float64 {
	var sum time.Duration
	for _, phase := range []procedure.Phase{procedure.VentFeed, procedure.Stabilise} {
		if s, ok := p.Step(phase); ok && !s.ByOperator {
			sum += s.Duration
		}
	}
	return sum.Seconds()
}

// expectedReadings is how many readings a channel gives in a hold; 0 where its
// pace is not stated.
func expectedReadings(b *bench.Bench, channel string, hold time.Duration) int {
	ch, _, _ := b.Channel(channel)
	for _, in := range b.Instruments {
		if in.Name == ch.Instrument && in.Interval > 0 {
			return int(hold / in.Interval)
		}
	}
	return 0
}
