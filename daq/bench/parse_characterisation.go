package bench

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq/strict"
)

// AttachCharacterisation reads the text of a characterisation file into the
// bench, in place of what was there; path is used in messages only. The error
// joins one *strict.Error for each fault; the bench is then unchanged.
func (b *Bench) AttachCharacterisation(path string, text []byte) error {
	root, faults := strict.ParseTOML(path, text)
	if root == nil {
		return faults.Err()
	}
	var all []Characterisation
	for _, t := range root.Required("characterisation").Tables() {
		all = append(all, characterisation(t))
	}
	root.Close()
	if err := faults.Err(); err != nil {
		return err
	}
	b.Characterisations = all
	b.CharacterisationText, b.CharacterisationHash = string(text), strict.Hash(text)
	return nil
}

func characterisation(t *strict.Table) Characterisation {
	c := Characterisation{
		Bench: t.Required("bench").Text(), Model: t.Required("model").Text(),
		Circuit: t.Required("circuit").OneOf("a", "b"), Fluid: t.Required("fluid").Text(),
		Date: t.Required("date").Day(), Source: t.Required("source").Text(), Line: t.Line(),
	}
	c.PressureLow, c.PressureHigh = t.Required("pressure_range").Range(si.Pressure)
	expiry := t.Required("expiry")
	c.Expiry = expiry.Day()
	if !c.Date.IsZero() && !c.Expiry.IsZero() && !c.Expiry.After(c.Date) {
		expiry.Fault(expiry.Found(), "a day after the characterisation's own, "+c.Date.Format("2006-01-02"))
	}
	c.ThermalCoefficient = estimate(t, "thermal_coefficient", si.ThermalCoefficient, positive)
	c.Lag = estimate(t, "lag", si.Time, anySign)
	c.Stiffness = estimate(t, "stiffness", si.Stiffness, positive)
	c.SettlingAmplitude = estimate(t, "settling_amplitude", si.PressureChange, anySign)
	c.SettlingTimeConstant = estimate(t, "settling_time_constant", si.Time, positive)
	c.Creep = estimate(t, "creep", si.PressureChange, anySign)
	c.WarmingAmplitude = estimate(t, "warming_amplitude", si.TemperatureDifference, anySign)
	c.WarmingTimeConstant = estimate(t, "warming_time_constant", si.Time, positive)
	c.ViscosityChange = estimate(t, "viscosity_change", si.Dimensionless, anySign)
	c.Noise = noise(t)
	c.Drift = estimate(t, "drift", si.PressureRate, anySign)
	c.LagCorrelation = correlation(t, "lag_correlation", "thermal_coefficient", "lag")
	c.SettlingCorrelation = correlation(t, "settling_correlation", "settling_amplitude", "settling_time_constant")
	c.NoiseAutocorrelation = autocorrelation(t)
	complete(t)
	return c
}

// Which signs a characterised figure may have.
const (
	anySign  = false
	positive = true
)

// estimate reads key = "a ± b unit" and key_dof; nil when absent or none.
func estimate(t *strict.Table, key string, q si.Quantity, mustBePositive bool) *uncertainty.Estimate {
	k, dofKey := t.Optional(key), t.Optional(key+"_dof")
	dof := math.Inf(1)
	if dofKey.Given() {
		if !k.Given() {
			dofKey.Refuse("only beside " + key)
		}
		dof = dofKey.Number("a number of at least 1", func(x float64) bool { return x >= 1 })
	}
	value, u, ok := k.Uncertain(q)
	if !ok {
		return nil
	}
	if mustBePositive && value <= 0 {
		k.Fault(k.Found(), "a value above zero")
	}
	return &uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: dof, Quantity: q}
}

// noise reads the channel noise, a standard deviation that has no uncertainty
// of its own here.
func noise(t *strict.Table) *uncertainty.Estimate {
	k := t.Optional("noise")
	if !k.Given() {
		return nil
	}
	e := exactDOF(k.Positive(si.PressureChange), 0, si.PressureChange)
	return &e
}

// correlation reads that of two figures of the same block; 0 when absent.
func correlation(t *strict.Table, key, one, other string) float64 {
	k := t.Optional(key)
	if !k.Given() {
		return 0
	}
	if !t.Has(one) || !t.Has(other) {
		k.Refuse("only beside " + one + " and " + other)
		return 0
	}
	return k.Number("a number between -1 and 1", func(x float64) bool { return x > -1 && x < 1 })
}

// autocorrelation reads that of the noise; NaN when absent.
func autocorrelation(t *strict.Table) float64 {
	k := t.Optional("noise_autocorrelation")
	if !k.Given() {
		return math.NaN()
	}
	if !t.Has("noise") {
		k.Refuse("only beside noise")
	}
	return k.Number("a number from 0 to below 1", func(x float64) bool { return x >= 0 && x < 1 })
}

// pairs are figures that say something only together.
var pairs = []struct{ amplitude, constant, example, other string }{
	{"settling_amplitude", "settling_time_constant", "60 ± 15 s", "1.5 ± 0.3 bar"},
	{"warming_amplitude", "warming_time_constant", "180 ± 40 s", "0.3 ± 0.1 K"},
}

// complete notes a block that says nothing, or half of a pair.
func complete(t *strict.Table) {
	some := false
	for _, f := range figureKeys {
		some = some || t.Has(f.key)
	}
	for _, p := range pairs {
		amplitude, constant := t.Has(p.amplitude), t.Has(p.constant)
		switch {
		case amplitude && !constant:
			t.Required(p.constant).Fault("nothing", "the time constant that belongs to "+p.amplitude+", e.g. \""+p.example+"\"")
		case constant && !amplitude:
			t.Required(p.amplitude).Fault("nothing", "the amplitude that belongs to "+p.constant+", e.g. \""+p.other+"\"")
		}
	}
	if !some {
		t.Fault("no figure", "at least one of thermal_coefficient, lag, stiffness, settling_amplitude with settling_time_constant, creep, warming_amplitude with warming_time_constant, viscosity_change, noise, drift")
	}
}
