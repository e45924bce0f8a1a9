package decay

import "holdbench/analysis/series"

// Transducer is a pressure transducer as it enters the budget; each figure is
// a standard uncertainty (k = 1), 0 where not stated.
type Transducer struct {
	// Gain is the relative standard uncertainty of the gain (1).
	Gain float64
	// Offset is the standard uncertainty of the zero, Pa (matters for
	// pressure_end and pressure_after only).
	Offset float64
	// Drift is the standard uncertainty of a steady drift, Pa/s.
	Drift float64
	// Resolution is the smallest step of the reading, Pa.
	Resolution float64
	// Calibration is the certificate's standard uncertainty, Pa.
	Calibration float64
	// TemperatureEffect is the standard uncertainty of how far the zero goes
	// with the temperature of the transducer's surroundings, Pa/K.
	TemperatureEffect float64
	// Low and High are the ends of the range, Pa; NaN when not stated. A
	// reading at an end is saturated.
	Low, High float64
	// Shares stand in the budget beside these, each by its name.
	Shares []Share
}

// Thermometer is a temperature channel as it enters the budget.
type Thermometer struct {
	// Resolution is the smallest step of the reading, K.
	Resolution float64
	// Drift is the standard uncertainty of a steady drift, K/s.
	Drift float64
	// Gain is the relative standard uncertainty of a temperature
	// difference (1).
	Gain float64
	// Low and High are the ends of the range, K; NaN when not stated.
	Low, High float64
	// Shares stand in the budget beside these, each by its name.
	Shares []Share
}

// Probe is one more temperature channel that stands for a part of the liquid.
type Probe struct {
	// Column holds its readings in K over the whole recording.
	Column series.Column
	// Interval is the nominal time between its readings, s.
	Interval float64
	Thermometer
}
