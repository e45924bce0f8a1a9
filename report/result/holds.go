package result

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/verdict"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
	"holdbench/daq/sequence"
)

// Run is a recording with the files that it was made by, read again from
// their text in the recording.
type Run struct {
	Recording *record.Recording
	Bench     *bench.Bench
	Procedure *procedure.Procedure
	Position  bench.Position
	Series    series.Series
	// Windows tells, by circuit, when it was locked and held.
	Windows map[string]sequence.Window
	// Calibration is what was put in the place of the bench's own calibrations;
	// nil where nothing was.
	Calibration *AppliedCalibration

	overdue []bench.Channel // by the calibrations with which it was made
}

// Read takes a recording's bench, procedure and characterisation from the
// recording itself, so that a change of the files since then changes nothing.
// The errors are those of the parsers, naming the recording.
func Read(rec *record.Recording) (*Run, error) {
	r := &Run{Recording: rec, Series: rec.Series(), Windows: sequence.Windows(rec.Events)}
	var err error
	if r.Bench, err = bench.Parse(rec.Meta.Bench.Name, []byte(rec.Meta.Bench.Text)); err != nil {
		return nil, fmt.Errorf("%s: the bench file in the recording: %w", rec.Dir, err)
	}
	if c := rec.Meta.Characterisation; c.Text != "" {
		if err := r.Bench.AttachCharacterisation(c.Name, []byte(c.Text)); err != nil {
			return nil, fmt.Errorf("%s: the characterisation in the recording: %w", rec.Dir, err)
		}
	}
	if f := rec.Meta.Fluids; f.Text != "" {
		if err := r.Bench.AttachFluids(f.Name, []byte(f.Text)); err != nil {
			return nil, fmt.Errorf("%s: the fluids in the recording: %w", rec.Dir, err)
		}
	}
	if r.Procedure, err = procedure.Parse(rec.Meta.Procedure.Name, []byte(rec.Meta.Procedure.Text)); err != nil {
		return nil, fmt.Errorf("%s: the procedure in the recording: %w", rec.Dir, err)
	}
	var ok bool
	if r.Position, ok = r.Bench.Position(rec.Meta.Position); !ok {
		return nil, fmt.Errorf("%s: the recording was made at position %q, which its bench file does not have", rec.Dir, rec.Meta.Position)
	}
	r.overdue, _ = r.Bench.OverdueAt(r.Position, rec.Meta.Started)
	return r, nil
}

// Holds builds the hold of each circuit of the procedure, in its order.
func (r *Run) Holds() []analysis.Hold {
	var holds []analysis.Hold
	for _, name := range r.Procedure.Circuits {
		for _, c := range r.Position.Circuits {
			if c.Name == name {
				h := r.hold(c)
				h.Other = r.other(c.Name)
				holds = append(holds, h)
			}
		}
	}
	return holds
}

func (r *Run) hold(c bench.Circuit) analysis.Hold {
	w, seen := r.Windows[c.Name]
	if !seen {
		w = sequence.Window{Locked: math.NaN(), HoldStart: math.NaN(), HoldEnd: math.NaN()}
	}
	p := r.Procedure
	h := analysis.Hold{
		Circuit: c.Name, Locked: w.Locked, Start: w.HoldStart, End: w.HoldEnd, Completed: w.Completed,
		FeedDeclaredUnmeasured: c.FeedUnmeasured,
		StartLow:               p.StartLow, StartHigh: p.StartHigh, FeedBelow: p.FeedBelow, TestPressure: p.TestPressure,
		Limits: p.Limits,
	}
	if math.IsNaN(h.End) && !math.IsNaN(h.Start) {
		h.End = r.Recording.End()
	}
	if h.Looks = r.looks(w.HoldStart); h.Looks != nil && !w.Completed {
		h.Looks = nil // it did not end at a look
	}
	h.Trapped, h.TrappedInterval = r.column(c.Trapped)
	h.Feed, _ = r.column(c.Feed)
	h.Temperature, h.TemperatureInterval = r.column(c.Temperature)
	h.Transducer = transducer(r.Bench, c.Trapped, p.TestPressure)
	if known, _ := r.Bench.Characterisation(p.Model, c.Name, p.Fluid, p.TestPressure, r.Recording.Meta.Started); known != nil {
		h.Transducer.Drift = max(h.Transducer.Drift, characterisedDrift(known))
	}
	h.Thermometer = thermometer(r.Bench, c.Temperature, r.readings)
	for _, name := range c.MoreTemperatures {
		column, interval := r.column(name)
		h.MoreProbes = append(h.MoreProbes, decay.Probe{Column: column, Interval: interval, Thermometer: thermometer(r.Bench, name, r.readings)})
	}
	h.Ambient, _ = r.column(r.Bench.Ambient.Temperature)
	r.takeZeros(&h, c.Trapped)
	h.Characterised = r.characterised(c.Name)
	return h
}

// other is the circuit of the position beside the named one, as far as its
// rise can say something: where it is not tested itself, or a limit asks for
// it. Nil for none.
func (r *Run) other(name string) *analysis.Other {
	p := r.Procedure
	asked := slices.ContainsFunc(p.Limits, func(l verdict.Limit) bool { return l.Quantity == "other_circuit_rise" })
	for _, c := range r.Position.Circuits {
		if c.Name == name || slices.Contains(p.Circuits, c.Name) && !asked {
			continue
		}
		o := &analysis.Other{Circuit: c.Name, Transducer: transducer(r.Bench, c.Trapped, p.SafePressure), VentedBelow: p.SafePressure,
			ThermalCoefficient: r.characterised(c.Name).ThermalCoefficient}
		o.Pressure, _ = r.column(c.Trapped)
		return o
	}
	return nil
}

// column returns a channel's readings and their nominal interval in s.
func (r *Run) column(name string) (series.Column, float64) {
	if name == "" {
		return series.Column{}, 0
	}
	col, _ := r.Series.Column(name)
	for _, ch := range r.Recording.Meta.Channels {
		if ch.Name == name {
			return col, ch.Interval.Seconds()
		}
	}
	return col, 0
}

// readings are those of a channel over the whole recording.
func (r *Run) readings(name string) series.Column {
	col, _ := r.column(name)
	return col
}

// transducer takes what enters the budget from the bench file. A maker's
// limit of error is a rectangular distribution (JCGM 100:2008, 4.3.7).
// Of an absolute transducer the ambient pressure, which is taken off, is part
// of its zero. level is the pressure, Pa, at which it is used.
func transducer(b *bench.Bench, name string, level float64) analysis.Transducer {
	ch, _, ok := b.Channel(name)
	if !ok {
		return analysis.Transducer{Low: math.NaN(), High: math.NaN()}
	}
	t := analysis.Transducer{Gain: ch.GainU, Offset: math.Hypot(ch.Accuracy/math.Sqrt(3), b.AmbientU(ch)), Drift: ch.DriftU, Resolution: ch.Resolution,
		TemperatureEffect: ch.TemperatureEffectU}
	t.Low, t.High = b.GaugeRange(ch)
	if ch.Calibration != nil {
		t.Calibration = ch.Calibration.U
	}
	t.Shares = transducerShares(b, ch, level)
	return t
}

// thermometer takes what enters the budget from the bench file; column yields
// the readings of another channel that it goes with.
func thermometer(b *bench.Bench, name string, column func(name string) series.Column) analysis.Thermometer {
	ch, _, ok := b.Channel(name)
	if !ok {
		return analysis.Thermometer{Low: math.NaN(), High: math.NaN()}
	}
	return analysis.Thermometer{
		Resolution: ch.Resolution, Drift: ch.DriftU, Gain: ch.GainU, Low: ch.RangeLow, High: ch.RangeHigh,
		Shares: thermometerShares(b, ch, column),
	}
}

func (r *Run) characterised(circuit string) decay.Characterised {
	known, _ := r.known(circuit)
	return known
}

// known is what was characterised of a circuit, and what no characterisation
// gives from fluid and bench data.
func (r *Run) known(circuit string) (decay.Characterised, derivation) {
	p := r.Procedure
	c, reason := r.Bench.Characterisation(p.Model, circuit, p.Fluid, p.TestPressure, r.Recording.Meta.Started)
	known := decay.Characterised{Source: reason}
	if c != nil {
		known = Known(c)
	}
	return derived(known, r.Bench, p, circuit, r.startTemperature(circuit), reason)
}

// beforeStart is over how long a time before t0 the probe's readings are
// averaged for the temperature of derived figures, s: nothing that comes later
// changes them.
const beforeStart = 60

// startTemperature is what a circuit's probe read just before t0, K; the usual
// temperature where it did not.
func (r *Run) startTemperature(circuit string) float64 {
	w, ok := r.Windows[circuit]
	i := slices.IndexFunc(r.Position.Circuits, func(c bench.Circuit) bool { return c.Name == circuit })
	if !ok || i < 0 || math.IsNaN(w.HoldStart) {
		return UsualTemperature
	}
	col, _ := r.column(r.Position.Circuits[i].Temperature)
	return meanOver(col, w.HoldStart-beforeStart, w.HoldStart, UsualTemperature)
}
