package result

import (
	"time"

	"holdbench/analysis"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
)

// ExpectedTemperatureChange is what a hold in a hall without heating or
// draught is taken to see before anything was measured, K: common practice, no
// source.
const ExpectedTemperatureChange = 0.2

// Expected is what bench file, characterisation and procedure let expect of a
// circuit's hold at a time. Where no noise is characterised, a reading is
// taken to scatter by its resolution. why says why there is no
// characterisation, empty where there is one.
func Expected(b *bench.Bench, p *procedure.Procedure, c bench.Circuit, at time.Time) (out analysis.Prospect, why string) {
	hold, _ := p.Step(procedure.Hold)
	out = analysis.Prospect{
		Duration: hold.Duration.Seconds(), SinceLock: sinceLock(p), TestPressure: p.TestPressure,
		NoTemperature: c.Temperature == "", TemperatureChange: ExpectedTemperatureChange,
		Transducer: transducer(b, c.Trapped), Thermometer: thermometer(b, c.Temperature),
	}
	out.Noise = out.Transducer.Resolution
	out.Readings, out.TemperatureReadings = expectedReadings(b, c.Trapped, hold.Duration), expectedReadings(b, c.Temperature, hold.Duration)
	known, why := b.Characterisation(p.Model, c.Name, p.Fluid, p.TestPressure, at)
	if known == nil {
		out.Known, _ = derived(out.Known, b, p, c.Name, UsualTemperature, why)
		return out, why
	}
	out.Known, _ = derived(Known(known), b, p, c.Name, UsualTemperature, "")
	if known.Noise != nil {
		out.Noise = known.Noise.Value
	}
	return out, ""
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
