package bench

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// Simulated is the [simulated] table of a bench file: the physics of the
// simulated trapped volume. All SI. A figure that the file does not state is
// 0: no leak, no ramp, no settling, and for the others the default that
// daq/simbench gives.
type Simulated struct {
	// ThermalCoefficient B of the trapped liquid, Pa/K.
	ThermalCoefficient float64
	// Leak is the true leak rate at the test pressure, Pa/s.
	Leak float64
	// TemperatureRate is the ramp of the bench's temperature, K/s.
	TemperatureRate float64
	// SettlingAmplitude Pa and SettlingTimeConstant s of hoses and seals.
	SettlingAmplitude, SettlingTimeConstant float64
	// TestPressure is what `pump` goes to when no figure is given, Pa.
	TestPressure float64
	Seed         uint64
	// Transducers are those that are wrong; the others are as their
	// certificates say.
	Transducers []SimulatedTransducer
}

// SimulatedTransducer is by how much a channel's transducer is wrong, beside
// what its certificate says. SI, Gain relative.
type SimulatedTransducer struct {
	Channel      string
	Offset, Gain float64
	// Hysteresis is the width of its loop: half below on the way up, half above
	// on the way down.
	Hysteresis float64
}

// wrongTransducers reads [[simulated.transducer]].
func (p *parser) wrongTransducers(tables []*strict.Table) (wrong []SimulatedTransducer) {
	for _, t := range tables {
		k := t.Required("channel")
		offset, gain, hysteresis := t.Optional("offset"), t.Optional("gain"), t.Optional("hysteresis")
		ch, _, known := p.bench.Channel(k.Text())
		if !known {
			if k.Written() != "" {
				k.Fault(strict.Quote(k.Written()), "the name of a channel")
			}
			continue
		}
		w := SimulatedTransducer{Channel: ch.Name, Hysteresis: hysteresis.NotNegative(ch.Quantity.Difference())}
		if offset.Given() {
			w.Offset = offset.Quantity(ch.Quantity.Difference())
		}
		if gain.Given() {
			w.Gain = gain.Quantity(si.Dimensionless)
		}
		wrong = append(wrong, w)
	}
	return wrong
}

// simulated reads [simulated]; nil when t is.
func (p *parser) simulated(t *strict.Table) *Simulated {
	if t == nil {
		return nil
	}
	s := &Simulated{
		ThermalCoefficient:   t.Optional("thermal_coefficient").Positive(si.ThermalCoefficient),
		Leak:                 t.Optional("leak").Quantity(si.PressureRate),
		TemperatureRate:      t.Optional("temperature_rate").Quantity(si.TemperatureRate),
		SettlingAmplitude:    t.Optional("settling_amplitude").Quantity(si.PressureChange),
		SettlingTimeConstant: t.Optional("settling_time_constant").Positive(si.Time),
		TestPressure:         t.Optional("test_pressure").Positive(si.Pressure),
		Seed:                 uint64(t.Optional("seed").Int(0, math.MaxInt)),
	}
	for _, x := range []*float64{&s.ThermalCoefficient, &s.Leak, &s.TemperatureRate,
		&s.SettlingAmplitude, &s.SettlingTimeConstant, &s.TestPressure} {
		if math.IsNaN(*x) {
			*x = 0
		}
	}
	s.Transducers = p.wrongTransducers(t.Optional("transducer").Tables())
	return s
}
