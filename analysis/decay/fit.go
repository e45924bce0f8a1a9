package decay

import (
	"math"

	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// Input is a hold as the fit needs it. Times in s since the start of the
// recording, pressures gauge in Pa, temperatures in K; columns over the whole
// recording.
type Input struct {
	Start, End  float64
	Locked      float64 // NaN if unknown
	Pressure    series.Column
	Temperature series.Column // empty when there is none
	// MoreProbes stand beside Temperature, which is the first probe.
	MoreProbes []Probe
	// Ambient is the temperature of the transducer's surroundings; empty: the
	// liquid's stands for it.
	Ambient     series.Column
	Transducer  Transducer
	Thermometer Thermometer
	// Zeros are the transducer's readings while vented, before and after; nil
	// when there are none.
	Zeros *Zeros
	// Segments are the parts of a hold that was interrupted; none: found by
	// Segments in the pressure.
	Segments []Segment
	Known    Characterised
	// TestPressure is where leak_rate_at_test_pressure is wanted, Pa; not
	// above 0 or NaN if unknown.
	TestPressure float64
	Sink         Sink
}

// Sink is what a leak goes to; the zero value is the vented feed side at 0 Pa
// gauge, without doubt.
type Sink struct {
	// Pressure in Pa gauge.
	Pressure uncertainty.Estimate
	// Source says in words what it is and where the figure comes from.
	Source string
}

// ventedFeed is the source of a Sink that states none.
const ventedFeed = "the vented feed side"

func (s Sink) source() string {
	if s.Source == "" {
		return ventedFeed
	}
	return s.Source
}

// Options of a fit.
type Options struct {
	// ExactTemperature takes the temperatures as given: the readings
	// themselves, interpolated between them, as the liquid's temperature
	// without noise, resolution or lag. For published examples and for
	// temperatures that were reduced elsewhere.
	ExactTemperature bool
	// After lists times after t0 (s) for which the pressure is predicted.
	After []float64
}

// Result is what a fit says of a hold.
type Result struct {
	// Estimates by the names of the quantities that can be limited; every
	// name is there. pressure_after is that of the first of Options.After.
	Estimates map[string]Quantity
	// After are the predictions in the order of Options.After.
	After []Quantity
	// StartPressure is the measured pressure at t0, noise reduced.
	StartPressure Quantity
	Curves        Curves
	Diagnostics   Diagnostics
}

// Fit compensates the trapped pressure for the liquid's temperature and lays
// the laws of models.go through what remains:
//
//	p_c(t) = p(t) − B·(T_f(t) − T_f(t0))
//
// with B held at its characterised value. A characterised settling is added
// back first, so that the law is the leak's. The law that the readings speak
// for gives the estimates. Where something is missing the quantities that need
// it are absent, with the reason; Fit has no other failure.
//
// Source: the balance of a trapped volume, dp = B·dT at constant volume
// (mark C); laws and choice as stated there.
func Fit(in Input, o Options) Result {
	f := &fitting{in: in, o: o, duration: in.End - in.Start}
	f.diagnostics.TimeTemperature, f.diagnostics.VIF = math.NaN(), math.NaN()
	f.takePressure()
	if len(f.t) < 3 || !(f.duration > 0) {
		return f.nothing("fewer than 3 valid pressure readings in the hold")
	}
	f.takeTemperature()
	f.takeSettling()
	f.takeAmbient()
	if err := f.lay(); err != nil {
		return f.nothing("no line can be laid through the pressure readings of the hold")
	}
	f.curves = f.draw()
	f.examine()
	r := f.result()
	f.tell(&r)
	return r
}

// fitting is a fit under way. Times t are counted from t0.
type fitting struct {
	in       Input
	o        Options
	duration float64

	readings series.Column // valid, without spikes
	drawn    series.Column // those that curves are made of
	// t and p are the readings, or the means of blocks of them; compensated
	// likewise. calm: their noise had heavy tails, which are drawn in.
	calm        bool
	t, p        []float64
	compensated []float64
	// pieces are the parts of an interrupted hold; none of one that was not.
	pieces []piece
	// set are the readings set aside as spikes.
	set series.Column
	// ambient is the temperature of the transducer's surroundings at t since
	// t0, K; nil where it is not needed or not known.
	ambient []float64

	liquid *liquid
	noTemp string // why liquid is nil
	// lower and upper are the liquid at lag ∓ lagReach·u(lag); nil when the same.
	lower, upper *liquid
	lag          uncertainty.Estimate
	// follows is with what the liquid itself follows.
	follows ownTime
	// single are the liquids that the probes alone make.
	single []*liquid
	// warmed is the characterised warmth after pressurising, learned what the
	// hold says of the thermal coefficient; nil where there is none.
	warmed  *warmed
	learned *learned
	// scatters are those about laws without what has lines of its own.
	scatters map[*law]scatterOf

	settled *settled
	noSett  string // why settled is nil
	// own is a settling learned from the hold, nil where there is none.
	own *ownSettling

	choice choice
	// instead takes the law's place for what was lost where no law explains the
	// hold, nil where one does; its pressures are counted from level.
	instead *instead
	level   float64
	// searched is a law that was searched for and explains a hold that no other
	// does; nil where there is none.
	searched *law

	curves     Curves
	responding []responses // of the laws of the table, as far as asked for
	// straighter: the loss slows clearly less than an exponential does;
	// rounder: clearly more than a straight line.
	straighter, rounder bool
	diagnostics         Diagnostics
	// step is the pressure reading's resolution, quantum what it leaves in a
	// long mean, sweep how far the reading moved.
	step, quantum, sweep float64
}
