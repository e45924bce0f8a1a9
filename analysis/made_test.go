package analysis

import (
	"math"
	"math/rand/v2"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

const (
	bar       = 1e5
	barPerMin = bar / 60
	kPerHour  = 1.0 / 3600
)

// made is a hold as a bench might have recorded it; all SI.
type made struct {
	seed             uint64
	before, duration float64 // s
	interval         float64 // s, of pressure
	tempInterval     float64 // s; 0: as pressure
	start            float64 // Pa at t0
	leak             float64 // Pa/s
	b                float64 // true thermal coefficient, Pa/K
	ramp             float64 // K/s
	temp             func(t float64) float64
	noise, tempNoise float64
	phi              float64 // AR(1) of the pressure noise
	round, tempRound float64 // resolution of the readings
	prior            *uncertainty.Estimate
	limits           []verdict.Limit
	add              func(t float64) float64 // added to the pressure, t since t0
}

func normal(value, u float64, q si.Quantity) *uncertainty.Estimate {
	return &uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Quantity: q}
}

func (m made) hold() Hold {
	random := rand.New(rand.NewPCG(m.seed, 17))
	t0 := m.before
	temp := m.temp
	if temp == nil {
		temp = func(t float64) float64 { return 293.15 + m.ramp*t }
	}
	if m.tempInterval == 0 {
		m.tempInterval = m.interval
	}
	h := Hold{
		Circuit: "a", Start: t0, End: t0 + m.duration, Completed: true, Locked: t0 / 2,
		TrappedInterval: m.interval, TemperatureInterval: m.tempInterval,
		FeedBelow: 5 * bar, StartLow: 95 * bar, StartHigh: 105 * bar, TestPressure: 100 * bar,
		Characterised: decay.Characterised{ThermalCoefficient: m.prior},
		Limits:        m.limits,
		Transducer:    Transducer{Low: math.NaN(), High: math.NaN(), Resolution: m.round},
		Thermometer:   Thermometer{Low: math.NaN(), High: math.NaN(), Resolution: m.tempRound},
	}
	var noise float64
	innovation := math.Sqrt(1 - m.phi*m.phi)
	h.Trapped = column("trapped_a", si.Pressure, m.interval, h.End, func(t float64) float64 {
		noise = m.phi*noise + innovation*random.NormFloat64()
		p := m.start - m.leak*(t-t0) + m.b*(temp(t-t0)-temp(0)) + m.noise*noise
		if m.add != nil {
			p += m.add(t - t0)
		}
		return rounded(p, m.round)
	})
	h.Temperature = column("temp_a", si.Temperature, m.tempInterval, h.End, func(t float64) float64 {
		return rounded(temp(t-t0)+m.tempNoise*random.NormFloat64(), m.tempRound)
	})
	h.Feed = column("feed_a", si.Pressure, 1, h.End, func(float64) float64 { return 0.01 * bar * random.NormFloat64() })
	return h
}

func column(name string, q si.Quantity, interval, end float64, at func(t float64) float64) series.Column {
	c := series.Column{Name: name, Quantity: q}
	for i := 0; float64(i)*interval <= end+1e-9; i++ {
		t := float64(i) * interval
		c.Time, c.Value = append(c.Time, t), append(c.Value, at(t))
	}
	return c
}

func rounded(x, step float64) float64 {
	if step == 0 {
		return x
	}
	return step * math.Round(x/step)
}
