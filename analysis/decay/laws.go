package decay

import (
	"math"
	"slices"
)

// compensate refers the pressures to the temperature at t0, and returns them
// with what a characterised settling took added back.
func (f *fitting) compensate() []float64 {
	f.compensated = append([]float64(nil), f.p...)
	if f.liquid != nil {
		f.compensated = compensate(f.p, f.liquid.at, f.liquid.start, f.coefficient().Value)
	}
	if f.settled == nil {
		return f.compensated
	}
	return added(f.compensated, f.settled.curves[0])
}

func (f *fitting) layLaws() error {
	y := f.compensate()
	var err error
	x := frame{sink: f.in.Sink.Pressure.Value, middle: mean(f.t), since: f.in.Start - f.in.Locked, drive: f.drive(y), clock: f.clocked()}
	if f.choice, err = choose(f.t, y, x, f.in.Sink.source(), f.duration); err != nil {
		return err
	}
	f.blockMeans(y)
	f.takeSteps()
	f.choice.weigh(f.noiseShare())
	f.takeShape(y)
	f.learnSettling(y)
	f.searchLaws(y)
	if f.settled != nil {
		f.widenSettling()
	}
	return nil
}

// takeSteps takes the reading's resolution, what it leaves in a long mean, and
// how far the reading moved.
func (f *fitting) takeSteps() {
	scatter := scatterOfDifferences(f.readings.Value)
	f.step = resolutionOf(f.in.Transducer.Resolution, f.readings.Value, math.Hypot(scatter, f.choice.law().std))
	f.quantum = quantisation(f.step, scatter)
	f.sweep = slices.Max(f.p) - slices.Min(f.p)
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
