package decay

import (
	"holdbench/analysis/fit"
	"holdbench/analysis/uncertainty"
	"math"
)

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
	f.seekLastingStep()
	f.examineCourse()
	if !f.interrupted() {
		f.examineCurvature()
	}
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
	f.diagnostics.SlowingU = 3 * math.Hypot(b.noise, systematic) // P2'' is 3
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
