package characterisation

import (
	"math"
	"math/rand/v2"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// made is a bench of the tests' own: a trapped volume whose liquid follows the
// body's temperature with a lag, with settling, creep, a leak, and instruments
// whose noise is correlated and whose readings step. Mark D.
type made struct {
	coefficient, lag, leak float64 // Pa/K, s, Pa/s
	amplitude, tau         float64 // settling, Pa, s
	creep                  float64 // Pa per decade
	body                   func(t float64) float64
	duration               float64
	interval               float64
	noise, correlation     float64 // Pa
	probeNoise, probeStep  float64 // K
	step                   float64 // Pa
	gain                   float64 // of the transducer, relative error
	// steps are volume steps, and what they do.
	steps     []madeStep
	stiffness float64 // Pa/m³
	// skew is how long before its stamp the thermometer was read, s.
	skew float64
	// offset is how much warmer the liquid is at locking than it would be at
	// rest, K.
	offset float64
	// probeLag is the probe's own time constant, s; 0 for none.
	probeLag float64
	warming  float64 // share by which a step reads too stiff at first
	cooling  float64 // s
}

type madeStep struct{ at, volume float64 }

func reference() made {
	return made{
		coefficient: 4.5e5, lag: 40, leak: 0.004e5 / 60, duration: 3000, interval: 0.5,
		noise: 0.01e5, correlation: 0.6, probeNoise: 0.01, probeStep: 0.01,
		body: func(t float64) float64 { return 293.15 + 0.8*math.Sin(2*math.Pi*t/2200) },
	}
}

// runs are rows of series: the record of one run with its noise.
func (m made) record(seed uint64) Record {
	rng := rand.New(rand.NewPCG(seed, 17))
	p := series.Column{Name: "trapped", Quantity: si.Pressure}
	temperature := series.Column{Name: "body", Quantity: si.Temperature}
	liquid, wander := m.body(-600), 0.0
	const fine = 0.25
	for t := -600.0; t < 0; t += fine {
		liquid += (m.body(t) - liquid) * fine / max(m.lag, fine)
	}
	liquid += m.offset
	begun, shown := liquid, m.body(-600)
	next := 0.0
	for t := 0.0; t <= m.duration; t += fine {
		if t >= next {
			next += m.interval
			wander = m.correlation*wander + math.Sqrt(1-m.correlation*m.correlation)*rng.NormFloat64()
			v := 100e5 + m.coefficient*(m.liquidAt(t, liquid)-begun) - m.leak*t
			if m.tau > 0 {
				v -= m.amplitude * -math.Expm1(-t/m.tau)
			}
			if m.creep > 0 {
				v -= m.creep * math.Log10(1+t/2)
			}
			for _, s := range m.steps {
				if t >= s.at {
					v += m.stiffness * s.volume * (1 + m.warming*math.Exp(-(t-s.at)/m.cooling))
				}
			}
			v = v*(1+m.gain) + m.noise*wander
			p.Time, p.Value = append(p.Time, t), append(p.Value, stepped(v, m.step))
			if m.probeLag == 0 {
				shown = m.body(t - m.skew)
			}
			reading := shown + m.probeNoise*rng.NormFloat64()
			temperature.Time, temperature.Value = append(temperature.Time, t), append(temperature.Value, stepped(reading, m.probeStep))
		}
		liquid += (m.body(t) - liquid) * fine / max(m.lag, fine)
		if m.probeLag > 0 {
			shown += (m.body(t) - shown) * fine / m.probeLag
		}
	}
	return Record{
		Source: "made", Start: 0, End: m.duration, Locked: 0, Pressure: p, Temperature: temperature,
		Transducer:  decay.Transducer{Resolution: m.step, Low: math.NaN(), High: math.NaN()},
		Thermometer: decay.Thermometer{Resolution: m.probeStep, Low: math.NaN(), High: math.NaN()},
	}
}

// liquidAt is the liquid, which leads the probe where the lag is negative.
func (m made) liquidAt(t, following float64) float64 {
	if m.lag > 0 {
		return following
	}
	return m.body(t) - m.lag*(m.body(t+0.5)-m.body(t-0.5))
}

func stepped(v, step float64) float64 {
	if step == 0 {
		return v
	}
	return math.Round(v/step) * step
}

// covers reports whether the interval of 95 % holds the truth.
func covers(e uncertainty.Estimate, truth float64) bool {
	low, high := e.Interval(0.95)
	return low <= truth && truth <= high
}
