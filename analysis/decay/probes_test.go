package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func anotherProbe(f func(t float64) float64, seed uint64) Probe {
	noise := white(seed, 0.005)
	c := sampled(0, 400, 0.5, func(t float64) float64 { return f(t) + noise() })
	c.Name = "hose"
	return Probe{Column: c, Interval: 0.5, Thermometer: Thermometer{Low: math.NaN(), High: math.NaN()}}
}

// T_f is the mean of the probes at common instants; that they disagree is a
// line of its own, the width of a rectangle between them.
func TestProbesAreTakenTogether(t *testing.T) {
	in := steadyHold()
	in.MoreProbes = []Probe{anotherProbe(func(t float64) float64 { return 300 + 1.0/3600*t }, 1)}
	r := Fit(in, Options{})
	rate := r.Estimates["decay_rate"]
	// 3 K/h and 1 K/h: 2 K/h is compensated.
	assert.InDelta(t, 2.0/3600, r.Diagnostics.LiquidRate, 2e-5)
	assert.InDelta(t, 500-5*bar*1/3600, rate.Value, 6)
	assert.InEpsilon(t, 5*bar*2/3600/math.Sqrt(12), budgetLine(t, rate, SourceGradient), 0.05)
	for _, l := range Fit(steadyHold(), Options{}).Estimates["decay_rate"].Budget {
		assert.NotEqual(t, SourceGradient, l.Source)
	}
}

// The noise of the mean of two probes is that of one over √2.
func TestTwoProbesHalveTheNoisesSquare(t *testing.T) {
	ramp := func(t float64) float64 { return 293 + 3.0/3600*t }
	one, two := steadyHold(), steadyHold()
	one.Temperature = anotherProbe(ramp, 1).Column
	two.Temperature = one.Temperature
	two.MoreProbes = []Probe{anotherProbe(ramp, 2)}
	a := budgetLine(t, Fit(one, Options{}).Estimates["decay_rate"], SourceTemperatureReading)
	b := budgetLine(t, Fit(two, Options{}).Estimates["decay_rate"], SourceTemperatureReading)
	assert.InEpsilon(t, a/math.Sqrt2, b, 0.25)
}

func TestADeadProbeIsToldAndLeftOut(t *testing.T) {
	alone := Fit(steadyHold(), Options{}).Estimates["decay_rate"]
	ramp := func(t float64) float64 { return 293 + 3.0/3600*t }
	for name, c := range map[string]struct {
		spoil func(p *Probe)
		why   string
	}{
		"stuck": {func(p *Probe) {
			for i := range p.Column.Value {
				p.Column.Value[i] = 293
			}
		}, "temperature probe hose: stuck: it never moved while probe 1 moved by 0.25 K; left out"},
		"dropped out": {func(p *Probe) {
			for i := range p.Column.Value {
				if i%3 > 0 {
					p.Column.Value[i] = math.NaN()
				}
			}
		}, "temperature probe hose: only 33 % of its readings are valid; left out"},
		"ended": {func(p *Probe) { p.Column = p.Column.Window(0, 250) },
			"temperature probe hose: its readings reach over a part of the hold only; left out"},
		"saturated": {func(p *Probe) { p.Low, p.High = 250, 293.2 }, "at an end of its range; left out"},
	} {
		t.Run(name, func(t *testing.T) {
			in := steadyHold()
			p := anotherProbe(ramp, 1)
			c.spoil(&p)
			in.MoreProbes = []Probe{p}
			r := Fit(in, Options{})
			require.Len(t, r.Diagnostics.Notes, 1)
			assert.Contains(t, r.Diagnostics.Notes[0], c.why)
			assert.Equal(t, alone.Value, r.Estimates["decay_rate"].Value)
		})
	}
	in := steadyHold()
	in.MoreProbes = []Probe{anotherProbe(ramp, 1)}
	for i := range in.Temperature.Value {
		in.Temperature.Value[i] = math.NaN()
	}
	r := Fit(in, Options{})
	assert.Empty(t, r.Estimates["decay_rate"].Absent, "the first may be the one that is left out")
}
