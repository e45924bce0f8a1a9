package main

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq/strict"
	"holdbench/report/result"
)

// instrumentFigures are what is said of an instrument, by the words of bench files.
type instrumentFigures map[string]string

// instrumentFigure is one of them: what it is, and where it goes, in SI. limit: the
// maker's limits of error, a rectangular distribution (JCGM 100:2008, 4.3.7).
type instrumentFigure struct {
	quantity si.Quantity
	into     *float64
	limit    bool
}

// transducer reads the figures of a pressure transducer.
func (f instrumentFigures) transducer(flag string) (*analysis.Transducer, error) {
	if len(f) == 0 {
		return nil, nil
	}
	t := analysis.Transducer{Low: math.NaN(), High: math.NaN()}
	return &t, f.read(flag, map[string]instrumentFigure{
		"accuracy":                {si.PressureChange, &t.Offset, true},
		"gain_uncertainty":        {si.Dimensionless, &t.Gain, false},
		"drift":                   {si.PressureRate, &t.Drift, false},
		"temperature_effect":      {si.ThermalCoefficient, &t.TemperatureEffect, false},
		"resolution":              {si.PressureChange, &t.Resolution, false},
		"calibration_uncertainty": {si.PressureChange, &t.Calibration, false},
	}, si.Pressure, &t.Low, &t.High)
}

// thermometer reads the figures of a temperature channel.
func (f instrumentFigures) thermometer(flag string) (*analysis.Thermometer, error) {
	if len(f) == 0 {
		return nil, nil
	}
	t := analysis.Thermometer{Low: math.NaN(), High: math.NaN()}
	return &t, f.read(flag, map[string]instrumentFigure{
		"gain_uncertainty": {si.Dimensionless, &t.Gain, false},
		"drift":            {si.TemperatureRate, &t.Drift, false},
		"resolution":       {si.TemperatureDifference, &t.Resolution, false},
	}, si.Temperature, &t.Low, &t.High)
}

// The figures of a settings file, in the order in which they are written.
var (
	transducerWords  = []string{"accuracy", "gain_uncertainty", "drift", "temperature_effect", "resolution", "calibration_uncertainty", rangeWord}
	thermometerWords = []string{"gain_uncertainty", "drift", "resolution", rangeWord}
)

// readFigures takes an instrument's table of a settings file; nil when t is.
func readFigures(t *strict.Table, words []string) instrumentFigures {
	if t == nil {
		return nil
	}
	f := instrumentFigures{}
	for _, word := range words {
		if k := t.Optional(word); k.Given() {
			f[word] = k.Text()
		}
	}
	return f
}

// write is the table as readFigures takes it.
func (f instrumentFigures) write(b *strings.Builder, name string, words []string) {
	if len(f) == 0 {
		return
	}
	fmt.Fprintf(b, "\n[assess.%s]\n", name)
	for _, word := range words {
		if text, ok := f[word]; ok {
			fmt.Fprintf(b, "%s = %s\n", word, strconv.Quote(text))
		}
	}
}

// rangeWord is the range among the figures, FROM..TO.
const rangeWord = "range"

// read reads all figures; all faults come at once, in the order of the words.
func (f instrumentFigures) read(flag string, known map[string]instrumentFigure, state si.Quantity, low, high *float64) error {
	var faults []error
	for _, word := range slices.Sorted(maps.Keys(f)) {
		where, text := flag+" "+word, f[word]
		k, ok := known[word]
		switch {
		case word == rangeWord:
			var err error
			*low, *high, err = fromTo(where, text, state)
			faults = append(faults, err)
			continue
		case !ok:
			words := append(slices.Sorted(maps.Keys(known)), rangeWord)
			faults = append(faults, &strict.Error{Field: flag, Found: strict.Quote(word), Want: "one of " + strings.Join(words, ", ")})
			continue
		}
		x, err := si.Parse(text, k.quantity)
		switch {
		case err != nil:
			faults = append(faults, named(where, err))
		case !(x >= 0):
			faults = append(faults, &strict.Error{Field: where, Found: strict.Quote(text), Want: "zero or more"})
		}
		*k.into = x
		if k.limit {
			*k.into /= math.Sqrt(3)
		}
	}
	return errors.Join(faults...)
}

// fromTo reads FROM..TO of a quantity.
func fromTo(where, text string, q si.Quantity) (low, high float64, err error) {
	from, to, ok := strings.Cut(text, "..")
	if !ok {
		return 0, 0, &strict.Error{Field: where, Found: strict.Quote(text), Want: "FROM..TO with units"}
	}
	if low, err = si.Parse(from, q); err != nil {
		return 0, 0, named(where, err)
	}
	if high, err = si.Parse(to, q); err != nil {
		return 0, 0, named(where, err)
	}
	if !(low < high) {
		return 0, 0, &strict.Error{Field: where, Found: strict.Quote(text), Want: "an end above the start"}
	}
	return low, high, nil
}

// fileBench is what flags and settings file say of the bench behind a logger's
// file.
type fileBench struct {
	startLow, startHigh, feedBelow float64
	transducer                     *analysis.Transducer
	thermometer                    *analysis.Thermometer
	zeroBefore, zeroAfter          *uncertainty.Estimate
}

// parseBench reads what is said of the bench.
func (t assessTable) parseBench() (b fileBench, err error) {
	var faults [6]error
	if t.StartWindow != "" {
		b.startLow, b.startHigh, faults[0] = fromTo("--start-window", t.StartWindow, si.Pressure)
	}
	if t.FeedBelow != "" {
		b.feedBelow, faults[1] = si.Parse(t.FeedBelow, si.Pressure)
		faults[1] = named("--feed-below", faults[1])
		if faults[1] == nil && !(b.feedBelow > 0) {
			faults[1] = &strict.Error{Field: "--feed-below", Found: strict.Quote(t.FeedBelow), Want: "a pressure above zero"}
		}
	}
	b.transducer, faults[2] = t.Transducer.transducer("--transducer")
	b.thermometer, faults[3] = t.Thermometer.thermometer("--thermometer")
	b.zeroBefore, faults[4] = estimated("--zero-before", t.ZeroBefore, si.Pressure)
	b.zeroAfter, faults[5] = estimated("--zero-after", t.ZeroAfter, si.Pressure)
	if (t.ZeroBefore == "") != (t.ZeroAfter == "") {
		faults[5] = errors.Join(faults[5], &strict.Error{Field: "--zero-before, --zero-after", Found: "one of them", Want: "both: a shift is what lies between"})
	}
	return b, errors.Join(faults[:]...)
}

// tell puts what is said of the bench into the options of an assessment.
func (b fileBench) tell(o *result.FileOptions) {
	o.StartLow, o.StartHigh, o.FeedBelow = b.startLow, b.startHigh, b.feedBelow
	o.Transducer, o.Thermometer = b.transducer, b.thermometer
	o.ZeroBefore, o.ZeroAfter = b.zeroBefore, b.zeroAfter
}

// air reads the air pressure, with or without its uncertainty.
func air(text string) (value, u float64, err error) {
	value, u, err = si.ParseUncertain(text, si.Pressure)
	return value, u, named("--ambient-pressure", err)
}
