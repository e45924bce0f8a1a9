package decay

import (
	"math"

	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// UnknownThermalCoefficient stands for the largest thermal coefficient that a
// liquid in a stiff volume shows, Pa/K: 12 bar/K. Where the coefficient is not
// characterised, nothing is compensated and this times the temperature's
// change is the standard uncertainty of what was left out.
//
// Source: mineral oil, α 7e-4/K, K 1.5 GPa, in a rigid vessel: 10.5 bar/K
// (mark C; oil's figures mark M), and a margin of the house's own.
const UnknownThermalCoefficient = 12e5

// Input is a hold as the fit needs it. Times in s since the start of the
// recording, pressures gauge in Pa, temperatures in K; columns over the whole
// recording.
type Input struct {
	Start, End  float64
	Locked      float64 // NaN if unknown
	Pressure    series.Column
	Temperature series.Column // empty when there is none
	Transducer  Transducer
	Thermometer Thermometer
	Known       Characterised
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
// a straight line through what remains:
//
//	p_c(t) = p(t) − B·(T_f(t) − T_f(t0))
//
// with B held at its characterised value. A characterised settling is added
// back before the line is laid, so that the line is the leak. Where something
// is missing the quantities that need it are absent, with the reason; Fit has
// no other failure.
//
// Source: [1] H.3 for the line; the balance of a trapped volume, dp = B·dT at
// constant volume, for the rest (mark C).
func Fit(in Input, o Options) Result {
	f := &fitting{in: in, o: o, duration: in.End - in.Start}
	f.takePressure()
	if len(f.t) < 3 || !(f.duration > 0) {
		return f.nothing("fewer than 3 valid pressure readings in the hold")
	}
	f.takeTemperature()
	f.takeSettling()
	if err := f.layLine(); err != nil {
		return f.nothing("no line can be laid through the pressure readings of the hold")
	}
	f.examine()
	return f.result()
}

// fitting is a fit under way. Times t are counted from t0.
type fitting struct {
	in       Input
	o        Options
	duration float64

	readings    series.Column // valid, without spikes
	t, p        []float64
	compensated []float64

	liquid *liquid
	noTemp string // why liquid is nil
	// lower and upper are the liquid at lag ∓ u(lag); nil when the same.
	lower, upper *liquid

	settled *settled
	noSett  string // why settled is nil

	line        *line
	diagnostics Diagnostics
	// step is the pressure reading's resolution, quantum what it leaves.
	step, quantum float64
}

func (f *fitting) takePressure() {
	d := &f.diagnostics
	f.readings, d.SetAside, d.Suspect = WithoutSpikes(f.in.Pressure.Window(f.in.Start, f.in.End))
	d.Readings = f.readings.Len()
	f.p = f.readings.Value
	f.t = make([]float64, len(f.p))
	for i, t := range f.readings.Time {
		f.t[i] = t - f.in.Start
	}
}

func (f *fitting) takeTemperature() {
	if f.in.Temperature.Len() == 0 {
		f.noTemp = "no temperature channel: what the liquid's temperature did to the pressure cannot be told"
		return
	}
	d := &f.diagnostics
	var inside series.Column
	inside, d.TemperatureSetAside, d.TemperatureSuspect = WithoutSpikes(f.in.Temperature.Window(f.in.Start, f.in.End))
	if f.o.ExactTemperature && inside.Len() > 0 {
		f.liquid = asGiven(inside, f.readings.Time, f.in.Start)
		return
	}
	s, err := smoothed(inside, f.in.Start, f.in.End, f.in.Thermometer.Resolution)
	if err != nil {
		f.noTemp = err.Error()
		return
	}
	before, _, _ := WithoutSpikes(f.in.Temperature.Window(math.Inf(-1), math.Nextafter(f.in.Start, math.Inf(-1))))
	lag := f.lag()
	at := func(lag float64) *liquid { return s.liquidOf(lag, before, f.readings.Time, f.in.Start) }
	f.liquid = at(lag.Value)
	if u := lag.StdUncertainty; u > 0 {
		f.lower, f.upper = at(lag.Value-u), at(lag.Value+u)
	}
}

// lag is the characterised lag, or none.
func (f *fitting) lag() uncertainty.Estimate {
	if f.in.Known.Lag == nil {
		return uncertainty.Estimate{DegreesOfFreedom: math.Inf(1)}
	}
	return *f.in.Known.Lag
}

func (f *fitting) takeSettling() {
	s := f.in.Known.Settling
	switch {
	case s == nil:
		f.noSett = "settling of hoses and seals is not characterised: leak and settling are known only as their sum"
	case !(f.in.Locked <= f.in.Start):
		f.noSett = "the instant of locking is not known, so the characterised settling cannot be placed"
	case !(s.TimeConstant.Value > 0):
		f.noSett = "the characterised settling has no time constant above 0"
	default:
		f.settled = &settled{Settling: *s, since: f.in.Start - f.in.Locked, duration: f.duration, t: f.t}
	}
}

// coefficient is B as held; where it is not characterised 0, with the bound
// as its uncertainty.
func (f *fitting) coefficient() uncertainty.Estimate {
	if f.in.Known.ThermalCoefficient == nil {
		return uncertainty.Estimate{StdUncertainty: UnknownThermalCoefficient, DegreesOfFreedom: math.Inf(1)}
	}
	return *f.in.Known.ThermalCoefficient
}

// sensitivity is by how much an error of temperature counts, Pa/K.
func (f *fitting) sensitivity() float64 {
	if f.in.Known.ThermalCoefficient == nil {
		return UnknownThermalCoefficient
	}
	return math.Abs(f.coefficient().Value)
}

// compensate refers pressures to the liquid's temperature at t0.
func compensate(pressure, liquid []float64, tf0, b float64) []float64 {
	compensated := make([]float64, len(pressure))
	for i, p := range pressure {
		tf := liquid[i]
		compensated[i] = p - b*(tf-tf0)
	}
	return compensated
}

func (f *fitting) layLine() error {
	f.compensated = append([]float64(nil), f.p...)
	if f.liquid != nil {
		f.compensated = compensate(f.p, f.liquid.at, f.liquid.start, f.coefficient().Value)
	}
	y := append([]float64(nil), f.compensated...)
	if f.settled != nil {
		for i, s := range f.settled.curve(f.settled.Amplitude.Value, f.settled.TimeConstant.Value) {
			y[i] += s
		}
	}
	var err error
	if f.line, err = straightLine(f.t, y); err != nil {
		return err
	}
	f.blockMeans(y)
	scatter := scatterOfDifferences(f.p)
	f.step = resolutionOf(f.in.Transducer.Resolution, f.p, math.Hypot(scatter, f.line.lin.ResidualStd))
	f.quantum = quantisation(f.step, scatter)
	return nil
}

// comparedBlocks is the number of block means shown beside the fit.
//
// Source: own simulation of coverage, 8 blocks of 240 readings (mark C).
const comparedBlocks = 8

func (f *fitting) blockMeans(y []float64) {
	d := &f.diagnostics
	blocks, err := fit.BlockMeans(f.t, y, comparedBlocks)
	if err != nil {
		d.BlockMeanRate, d.BlockMeanRateU = math.NaN(), math.NaN()
		return
	}
	d.BlockMeanRate = f.settlingRate() - blocks.Coefficients[1]
	d.BlockMeanRateU = blocks.StdUncertainty(1)
}

// settlingRate is the mean rate of the characterised settling; 0 without.
func (f *fitting) settlingRate() float64 {
	if f.settled == nil {
		return 0
	}
	return f.settled.total(f.settled.Amplitude.Value, f.settled.TimeConstant.Value) / f.duration
}

// examine fills the diagnostics.
func (f *fitting) examine() {
	d := &f.diagnostics
	d.Noise = f.line.lin.ResidualStd
	d.Autocorrelation, d.Inflation, d.EffectiveReadings = f.line.rho, f.line.inflation, f.line.effective
	d.RawRate = -weighted(f.line.slope, f.p)
	d.TemperatureChange, d.TemperatureChangeU, d.LiquidRate = math.NaN(), math.NaN(), math.NaN()
	if f.liquid != nil {
		d.TemperatureChange, d.TemperatureChangeU = f.liquid.change()
		d.LiquidRate = f.liquid.sum(f.line.slope, 0)
		d.TemperatureChange += d.LiquidRate * (f.duration - f.t[len(f.t)-1])
		d.TemperatureNoise, d.TemperatureResolution = f.liquid.noise, f.liquid.resolution
	}
	d.CurvatureT, d.CurvatureDOF = math.NaN(), math.NaN()
	if b, ok := curvature(f.t, f.line.lin.Residuals); ok {
		systematic, _ := f.temperatureLines(b.weights, 0).Combined()
		if f.liquid != nil {
			systematic = math.Hypot(systematic, f.sensitivity()*f.liquid.resolutionOf(b.weights))
		}
		d.CurvatureT, d.CurvatureDOF, d.StillSettling = b.significant(systematic)
	}
}

func weighted(w, y []float64) float64 {
	var sum float64
	for i := range w {
		sum += w[i] * (y[i] - y[0])
	}
	return sum
}
