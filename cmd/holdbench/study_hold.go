package main

import (
	"math"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/study"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/daq/simbench"
)

// studyHold makes a hold of one simulated test: what the instruments wrote
// down, and what is stated of the benches; nothing of the truth.
func studyHold(s simbench.Scene, tried simbench.Tried) analysis.Hold {
	st := s.Stated
	interval := tried.Interval
	return analysis.Hold{
		Circuit: "a", Start: tried.Start(), End: tried.End(), Locked: tried.Locked(), Completed: true,
		Trapped:         series.Column{Name: "trapped_a", Quantity: si.Pressure, Time: tried.Time, Value: tried.PressureReading},
		Temperature:     series.Column{Name: "temp_a", Quantity: si.Temperature, Time: tried.Time, Value: tried.TemperatureReading},
		TrappedInterval: interval, TemperatureInterval: interval,
		FeedDeclaredUnmeasured: true, FeedBelow: math.NaN(),
		StartLow: 0.9 * tried.TestPressure, StartHigh: 1.1 * tried.TestPressure, TestPressure: tried.TestPressure,
		Transducer: decay.Transducer{
			Gain: st.Gain, Offset: st.Offset, Drift: st.Drift, Resolution: st.Resolution, Low: math.NaN(), High: math.NaN(),
		},
		Thermometer: decay.Thermometer{
			Resolution: st.TemperatureResolution, Drift: st.TemperatureDrift, Gain: st.TemperatureGain, Low: math.NaN(), High: math.NaN(),
		},
		Characterised: characterisedFrom(st),
		Limits:        []verdict.Limit{{Quantity: s.Quantity, Value: s.Limit}},
	}
}

func characterisedFrom(st simbench.Stated) decay.Characterised {
	of := func(f simbench.Figure, q si.Quantity) uncertainty.Estimate {
		return uncertainty.Estimate{Value: f.Value, StdUncertainty: f.U, DegreesOfFreedom: math.Inf(1), Quantity: q}
	}
	at := func(f simbench.Figure, q si.Quantity) *uncertainty.Estimate {
		e := of(f, q)
		return &e
	}
	return decay.Characterised{
		ThermalCoefficient: at(st.ThermalCoefficient, si.ThermalCoefficient),
		Lag:                at(st.Lag, si.Time),
		Stiffness:          at(st.Stiffness, si.Stiffness),
		Settling: &decay.Settling{
			Amplitude: of(st.SettlingAmplitude, si.PressureChange), TimeConstant: of(st.SettlingTime, si.Time),
		},
		Creep: at(st.Creep, si.PressureChange),
		Warming: &decay.Warming{
			Amplitude: of(st.Warming, si.TemperatureDifference), TimeConstant: of(st.WarmingTime, si.Time),
		},
		Source: "stated for the study",
	}
}

// studyScene is a scene as the study's sums know it.
func studyScene(s simbench.Scene) study.Scene {
	return study.Scene{
		Name: s.Name, Title: s.Title, Group: s.Group, Quantity: s.Quantity, Limit: s.Limit, Tellable: s.Tellable, Tight: s.Tight,
	}
}
