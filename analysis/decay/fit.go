package decay

import (
	"math"
	"slices"

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
	f.takePressure()
	if len(f.t) < 3 || !(f.duration > 0) {
		return f.nothing("fewer than 3 valid pressure readings in the hold")
	}
	f.takeTemperature()
	f.takeSettling()
	if err := f.layLaws(); err != nil {
		return f.nothing("no line can be laid through the pressure readings of the hold")
	}
	f.curves = f.draw()
	f.examine()
	return f.result()
}

// fitting is a fit under way. Times t are counted from t0.
type fitting struct {
	in       Input
	o        Options
	duration float64

	readings series.Column // valid, without spikes
	// t and p are the readings, or the means of blocks of them; compensated
	// likewise.
	t, p        []float64
	compensated []float64

	liquid *liquid
	noTemp string // why liquid is nil
	// lower and upper are the liquid at lag ∓ u(lag); nil when the same.
	lower, upper *liquid
	lag          uncertainty.Estimate

	settled *settled
	noSett  string // why settled is nil

	choice choice
	// instead takes the law's place for what was lost where no law explains the
	// hold, nil where one does; its pressures are counted from level.
	instead *instead
	level   float64

	curves    Curves
	responses responses // of the law taken
	// straighter: the loss slows clearly less than an exponential does;
	// rounder: clearly more than a straight line.
	straighter, rounder bool
	diagnostics         Diagnostics
	// step is the pressure reading's resolution, quantum what it leaves in a
	// long mean, sweep how far the reading moved.
	step, quantum, sweep float64
}

func (f *fitting) takePressure() {
	d := &f.diagnostics
	f.readings, d.SetAside, d.Suspect = WithoutSpikes(f.in.Pressure.Window(f.in.Start, f.in.End))
	d.Readings = f.readings.Len()
	fitted := f.readings
	if f.gathered() {
		fitted = evenBlocks(f.readings, mostFitted)
	}
	f.p = fitted.Value
	f.t = make([]float64, len(f.p))
	for i, t := range fitted.Time {
		f.t[i] = t - f.in.Start
	}
}

// mostFitted is of how many readings a fit is made at most, where at least
// four times as many are averaged in blocks first: that costs a slope about
// 1/mostFitted² of its information.
const mostFitted = 4096

// gathered: the readings are averaged in blocks.
func (f *fitting) gathered() bool { return f.readings.Len() >= 4*mostFitted }

// evenBlocks averages a column in that many blocks, whose numbers of readings
// differ by at most one. blocks ≤ c.Len().
func evenBlocks(c series.Column, blocks int) series.Column {
	out := series.Column{Name: c.Name, Quantity: c.Quantity,
		Time: make([]float64, blocks), Value: make([]float64, blocks)}
	n := c.Len()
	for b := range blocks {
		from, to := b*n/blocks, (b+1)*n/blocks
		out.Time[b], out.Value[b] = meanFrom(c.Time[from:to]), meanFrom(c.Value[from:to])
	}
	return out
}

// meanFrom is the mean of values near the first of them.
func meanFrom(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x - v[0]
	}
	return v[0] + sum/float64(len(v))
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
		f.liquid = asGiven(inside, f.instants(), f.in.Start)
		return
	}
	s, err := smoothed(inside, f.in.Start, f.in.End, f.in.Thermometer.Resolution)
	if err != nil {
		f.noTemp = err.Error()
		return
	}
	before, _, _ := WithoutSpikes(f.in.Temperature.Window(math.Inf(-1), math.Nextafter(f.in.Start, math.Inf(-1))))
	f.lag = f.lagFor(s)
	at := func(lag float64) *liquid { return s.liquidOf(lag, before, f.instants(), f.in.Start) }
	f.liquid = at(f.lag.Value)
	if u := f.lag.StdUncertainty; u > 0 {
		f.lower, f.upper = at(f.lag.Value-u), at(f.lag.Value+u)
	}
}

// instants are the times of what is fitted, since the recording's start.
func (f *fitting) instants() []float64 {
	out := make([]float64, len(f.t))
	for i, t := range f.t {
		out[i] = f.in.Start + t
	}
	return out
}

// unknownLag is the standard uncertainty of a lag between probe and liquid
// that is not characterised, s: a probe in a pocket takes some tens of seconds.
//
// Source: common practice (mark P).
const unknownLag = 30

// lagFor is the characterised lag, or none. Where it is not characterised it is
// doubtful as soon as the probe's reading bends: under a ramp a lag changes
// nothing.
func (f *fitting) lagFor(s *smooth) uncertainty.Estimate {
	if f.in.Known.Lag != nil {
		return *f.in.Known.Lag
	}
	none := uncertainty.Estimate{DegreesOfFreedom: math.Inf(1)}
	if s.bends() {
		none.StdUncertainty = unknownLag
	}
	return none
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
		f.settled = newSettled(*s, f.in.Start-f.in.Locked, f.duration, f.t)
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

func (f *fitting) layLaws() error {
	f.compensated = append([]float64(nil), f.p...)
	if f.liquid != nil {
		f.compensated = compensate(f.p, f.liquid.at, f.liquid.start, f.coefficient().Value)
	}
	y := f.compensated
	if f.settled != nil {
		y = added(f.compensated, f.settled.curves[0])
	}
	var err error
	x := frame{sink: f.in.Sink.Pressure.Value, middle: mean(f.t), drive: f.drive(y)}
	if f.choice, err = choose(f.t, y, x, f.in.Sink.source(), f.duration); err != nil {
		return err
	}
	f.blockMeans(y)
	scatter := scatterOfDifferences(f.readings.Value)
	f.step = resolutionOf(f.in.Transducer.Resolution, f.readings.Value, math.Hypot(scatter, f.choice.law().std))
	f.quantum = quantisation(f.step, scatter)
	f.sweep = slices.Max(f.p) - slices.Min(f.p)
	f.responses = f.responsesOf(f.choice.law())
	f.takeShape(y)
	return nil
}

// drive is what lies between the pressure that is there and the one that the
// laws are laid to; nil where nothing does.
func (f *fitting) drive(laid []float64) *drive {
	if f.liquid == nil && f.settled == nil {
		return nil
	}
	above := make([]float64, len(f.p))
	for i, p := range f.p {
		above[i] = p - laid[i]
	}
	return driven(f.t, above, f.duration)
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
	return f.settled.until(f.duration)[0] / f.duration
}

// examine fills the diagnostics.
func (f *fitting) examine() {
	d, l := &f.diagnostics, f.choice.law()
	d.Law, d.LawReason = l.name, f.choice.reason
	_, d.AICcLine = f.choice.named(Line)
	_, d.AICcExponential = f.choice.named(Exponential)
	d.Noise = l.std
	d.Autocorrelation, d.Inflation, d.EffectiveReadings = l.rho, l.inflation, l.effective
	if s := f.instead; s != nil {
		d.LawReason = s.words(f.choice.reason)
		d.Noise = s.std
		d.Autocorrelation, d.Inflation, d.EffectiveReadings = s.rho, s.inflation, s.effective
	}
	if f.gathered() {
		std := d.Noise
		d.Noise = f.noise()
		d.EffectiveReadings = min(float64(d.Readings), d.EffectiveReadings*d.Noise*d.Noise/(std*std))
	}
	slope, _ := slopeWeights(f.t)
	d.RawRate = -weighted(slope, f.p)
	d.TemperatureChange, d.TemperatureChangeU, d.LiquidRate = math.NaN(), math.NaN(), math.NaN()
	if f.liquid != nil {
		d.TemperatureChange, d.TemperatureChangeU = f.liquid.change()
		d.LiquidRate = f.liquid.since(slope)
		d.TemperatureChange += d.LiquidRate * (f.duration - f.t[len(f.t)-1])
		d.TemperatureNoise, d.TemperatureResolution = f.liquid.noise, f.liquid.resolution
	}
	f.examineCurvature()
}

// examineCurvature asks whether the loss slows by more than a leak towards
// the sink does, by more than a line where no such leak can be laid; and
// which of the two laws it clearly is not.
func (f *fitting) examineCurvature() {
	d := &f.diagnostics
	line, _ := f.choice.named(Line)
	d.CurvatureT, d.CurvatureDOF, d.StillSettling = f.bentBeside(line)
	if l, _ := f.choice.named(Exponential); l != nil {
		f.rounder = d.StillSettling
		d.CurvatureT, d.CurvatureDOF, d.StillSettling = f.bentBeside(l)
		f.straighter = -d.CurvatureT > uncertainty.T(1-curvatureLevel, d.CurvatureDOF)
	}
}

// bentBeside returns the curvature beside a law over its standard
// uncertainty, as bend.significant does; NaN where there is none.
func (f *fitting) bentBeside(l *law) (t, dof float64, slows bool) {
	b, ok := curvature(f.t, l, f.instead)
	if !ok {
		return math.NaN(), math.NaN(), false
	}
	r := f.respond(b.weights)
	doubts := f.temperatureLines(r)
	if f.settled != nil {
		doubts = append(doubts, f.settled.lines(r.settled)...)
	}
	if f.liquid != nil {
		spread := f.root() * math.Sqrt(weightedSum(b.weights, b.weights))
		doubts = append(doubts, uncertainty.Line{
			Source: SourceTemperatureResolution, StdUncertainty: f.sensitivity() * f.liquid.resolutionOf(spread), DegreesOfFreedom: math.Inf(1),
		})
	}
	systematic, _ := doubts.Combined()
	return b.significant(systematic)
}

// weighted returns Σ w_i·y_i for weights that sum to 0.
func weighted(w, y []float64) float64 {
	var sum float64
	for i := range w {
		sum += w[i] * (y[i] - y[0])
	}
	return sum
}
