package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/daq/record/foreign"
	"holdbench/daq/strict"
)

// assessFlags are what assess may be told. What concerns a logger's file alone
// is marked; a recording carries its own.
type assessFlags struct {
	styleFlags
	json, pdf, png, lot string
	// calibration is for recordings alone.
	calibration string

	// For files alone.
	settingsFile, saveSettings                     string
	limits                                         []string
	rule                                           string
	riskPass, riskFail                             float64
	uMax                                           string
	thermalCoefficient, lag, stiffness             string
	hold                                           string
	circuits                                       map[string]string
	time, date, feed, temperature, ambient         string
	delimiter, decimal, encoding, timeFormat, zone string
	headerLine                                     int
	noHeader, absolute                             bool
	ambientPressure, testPressure                  string
	startWindow, feedBelow, zeroBefore, zeroAfter  string
	transducer, thermometer                        map[string]string
	serial, model, operator, fluid                 string
}

// fileFlags are the names of the flags that make no sense for a recording.
var fileFlags = []string{
	"settings", "save-settings", "limit", "rule", "risk-pass", "risk-fail", "u-max", "thermal-coefficient", "lag", "stiffness",
	"hold", "circuit", "time", "date", "feed", "temperature", "ambient", "delimiter", "decimal", "encoding", "time-format",
	"zone", "header-line", "no-header", "absolute", "ambient-pressure", "test-pressure",
	"start-window", "feed-below", "transducer", "thermometer", "zero-before", "zero-after", "serial", "model", "operator", "fluid",
}

func (f *assessFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	f.styleFlags.add(cmd)
	flags.StringVar(&f.json, "json", "", "write the result as JSON to a file, or - for standard output (an array for several inputs)")
	flags.StringVar(&f.pdf, "pdf", "", "draw the page as PDF to a file (for several inputs: to a folder)")
	flags.StringVar(&f.png, "png", "", "draw the page as PNG to a file (for several inputs: to a folder)")

	flags.StringVar(&f.calibration, "calibration", "", "convert a recording's raw signals again with the [[calibration]] blocks of a `FILE` (TOML), as calibrate writes them; the recording is not changed")
	flags.StringVar(&f.lot, "lot", "", "draw a summary of all inputs as PDF to a file")

	flags.StringVar(&f.settingsFile, "settings", "", "read what is said of this logger's files from a settings file (TOML); flags come before it")
	flags.StringVar(&f.saveSettings, "save-settings", "", "write down what was said and found out, for the next file of this logger")
	flags.StringArrayVar(&f.limits, "limit", nil, "a `LIMIT` for every circuit, e.g. \"decay_rate 0.2 bar/min\", \"pressure_end min 95 bar\", \"pressure_after 10 min 95 bar\"; may be given again")
	flags.Lookup("limit").DefValue = ""
	flags.StringVar(&f.rule, "rule", "guarded", "decision rule: guarded or simple")
	flags.Float64Var(&f.riskPass, "risk-pass", 0.05, "largest chance of PASS for a unit exactly at the limit")
	flags.Float64Var(&f.riskFail, "risk-fail", 0.05, "largest chance of FAIL for a unit exactly at the limit")
	flags.StringVar(&f.uMax, "u-max", "", "simple rule: the largest expanded uncertainty (95 %) with which it may decide")
	flags.StringVar(&f.thermalCoefficient, "thermal-coefficient", "", `pressure per kelvin at constant volume, e.g. "4.5 ± 0.5 bar/K"`)
	flags.StringVar(&f.lag, "lag", "", `e.g. "40 ± 8 s": positive, the liquid follows the probe; negative, the probe follows the liquid`)
	flags.StringVar(&f.stiffness, "stiffness", "", `pressure per volume, e.g. "30 ± 2 bar/mL"`)
	flags.StringVar(&f.hold, "hold", "", "the hold's window instead of finding it, e.g. 60s..360s, by the file's own count of time (with stamps: since its first row); an open end is the record's own")

	flags.StringToStringVar(&f.circuits, "circuit", nil, "`CIRCUIT=COLUMN`, trapped pressure of a circuit by column name or number, with its unit where the header has none, e.g. a=p1, \"b=4 [psi]\"; circuits that are not named are left out")
	flags.Lookup("circuit").DefValue = ""
	flags.StringVar(&f.time, "time", "", "the time's column")
	flags.StringVar(&f.date, "date", "", "the date's column, where it has one of its own")
	flags.StringVar(&f.feed, "feed", "", "the feed pressure's column; none: leave it out")
	flags.StringVar(&f.temperature, "temperature", "", "the liquid's temperature probe; none: leave it out")
	flags.StringVar(&f.ambient, "ambient", "", "the room's temperature")
	flags.StringVar(&f.delimiter, "delimiter", "", "comma, semicolon or tab")
	flags.StringVar(&f.decimal, "decimal", "", "decimal mark: point or comma")
	flags.StringVar(&f.encoding, "encoding", "", "utf-8, utf-16le, utf-16be or windows-1252")
	flags.StringVar(&f.timeFormat, "time-format", "", "order of a date's parts: dmy, mdy or ymd; or hh:mm, mm:ss")
	flags.StringVar(&f.zone, "zone", "", `time zone of stamps that name none, e.g. "+01:00"`)
	flags.IntVar(&f.headerLine, "header-line", 0, "line of the column names")
	flags.BoolVar(&f.noHeader, "no-header", false, "the file has no column names")
	flags.BoolVar(&f.absolute, "absolute", false, "pressures are absolute")
	flags.StringVar(&f.ambientPressure, "ambient-pressure", "", "air pressure taken off absolute pressures, e.g. \"1.002 ± 0.001 bar\" (1.013 ± 0.03 bar when not given)")
	flags.StringVar(&f.testPressure, "test-pressure", "", `nominal pressure, e.g. "100 bar"`)
	flags.StringVar(&f.startWindow, "start-window", "", "pressures between which a hold may begin, e.g. \"95 bar..105 bar\"; not checked when not given")
	flags.StringVar(&f.feedBelow, "feed-below", "", "the feed side counts as vented below it, e.g. \"3 bar\"; not checked when not given")
	flags.StringToStringVar(&f.transducer, "transducer", nil, "`FIGURE=VALUE`, what is known of the pressure transducers: accuracy, gain_uncertainty, drift, temperature_effect, resolution, calibration_uncertainty, range (FROM..TO); e.g. \"accuracy=0.25 bar,drift=0.002 bar/h\"")
	flags.Lookup("transducer").DefValue = ""
	flags.StringToStringVar(&f.thermometer, "thermometer", nil, "`FIGURE=VALUE` of the temperature probe: gain_uncertainty, drift, resolution, range")
	flags.Lookup("thermometer").DefValue = ""
	flags.StringVar(&f.zeroBefore, "zero-before", "", "what the transducer read vented, just before the record, e.g. \"0.02 ± 0.005 bar\"")
	flags.StringVar(&f.zeroAfter, "zero-after", "", "the same just after the record: the shift between them is taken off, and counts instead of the drift")
	flags.StringVar(&f.serial, "serial", "", "serial number; the file's name when not given")
	flags.StringVar(&f.model, "model", "", "model of the unit, for the page")
	flags.StringVar(&f.operator, "operator", "", "who tested, for the page")
	flags.StringVar(&f.fluid, "fluid", "", "the liquid, for the page")
}

// onlyForFiles refuses flags that a recording answers by itself.
func (f *assessFlags) onlyForFiles(cmd *cobra.Command) error {
	var faults []error
	for _, name := range fileFlags {
		if cmd.Flags().Changed(name) {
			faults = append(faults, &strict.Error{Field: "--" + name, Found: "a recording's folder", Want: "a CSV file: a recording is judged by what it carries"})
		}
	}
	return errors.Join(faults...)
}

// assessSettings is what flags and settings file come to.
type assessSettings struct {
	logger foreign.Settings
	limits []verdict.Limit
	known  decay.Characterised
	find   analysis.FindOptions
	bench  fileBench
	shown  style
	// testPressure in Pa; 0: not stated.
	testPressure float64
	// written is the [assess] table that says the same again.
	written assessTable
}

// settings reads the settings file and puts the flags before it. All faults
// come at once.
func (f *assessFlags) settings(cmd *cobra.Command) (assessSettings, error) {
	var s assessSettings
	table := assessTable{Rule: f.rule, RiskPass: f.riskPass, RiskFail: f.riskFail, Units: f.units}
	if f.settingsFile != "" {
		var err error
		s.logger, err = foreign.LoadSettings(f.settingsFile, table.read)
		if err != nil {
			return s, err
		}
	}
	f.override(cmd, &table)
	f.overrideLogger(cmd, &s.logger)
	s.written = table
	var faults []error
	note := func(err error) {
		if err != nil {
			faults = append(faults, err)
		}
	}
	var err error
	f.units = table.Units
	s.shown, err = f.parse()
	note(err)
	if table.TestPressure != "" {
		s.testPressure, err = si.Parse(table.TestPressure, si.Pressure)
		note(named("--test-pressure", err))
		if err == nil && !(s.testPressure > 0) {
			note(&strict.Error{Field: "--test-pressure", Found: strict.Quote(table.TestPressure), Want: "a gauge pressure above 0"})
		}
	}
	s.limits, err = table.parseLimits(s.testPressure)
	note(err)
	s.known, err = table.parseKnown()
	note(err)
	s.bench, err = table.parseBench()
	note(err)
	s.find, err = parseWindow(f.hold)
	note(err)
	s.find.Display = s.shown.Display
	if f.ambientPressure != "" {
		s.logger.AmbientPressure, s.logger.AmbientPressureU, err = air(f.ambientPressure)
		note(err)
	}
	note(s.logger.Check(""))
	note(checkCircuits(f.circuits))
	if cmd.Flags().Changed("serial") {
		note(strict.CheckSerial(f.serial, ""))
	}
	if cmd.Flags().Changed("header-line") && f.headerLine < 1 {
		note(&strict.Error{Field: "--header-line", Found: fmt.Sprint(f.headerLine), Want: "a line, from 1; or --no-header"})
	}
	return s, errors.Join(faults...)
}

// named puts the flag before an error of a written figure.
func named(flag string, err error) error {
	var written *si.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &written):
		return &strict.Error{Field: flag, Found: written.Found, Want: written.Want}
	}
	return fmt.Errorf("%s: %w", flag, err)
}

// override lets each flag that was given come before the settings file.
func (f *assessFlags) override(cmd *cobra.Command, t *assessTable) {
	changed := cmd.Flags().Changed
	for _, o := range []struct {
		flag string
		into *string
		from string
	}{
		{"rule", &t.Rule, f.rule}, {"u-max", &t.UMax, f.uMax}, {"thermal-coefficient", &t.ThermalCoefficient, f.thermalCoefficient},
		{"lag", &t.Lag, f.lag}, {"stiffness", &t.Stiffness, f.stiffness}, {"units", &t.Units, f.units}, {"test-pressure", &t.TestPressure, f.testPressure},
		{"start-window", &t.StartWindow, f.startWindow}, {"feed-below", &t.FeedBelow, f.feedBelow},
		{"zero-before", &t.ZeroBefore, f.zeroBefore}, {"zero-after", &t.ZeroAfter, f.zeroAfter},
	} {
		if changed(o.flag) {
			*o.into = o.from
		}
	}
	if changed("transducer") {
		t.Transducer = f.transducer
	}
	if changed("thermometer") {
		t.Thermometer = f.thermometer
	}
	if changed("limit") {
		t.Limits = f.limits
	}
	if changed("risk-pass") {
		t.RiskPass = f.riskPass
	}
	if changed("risk-fail") {
		t.RiskFail = f.riskFail
	}
}

func (f *assessFlags) overrideLogger(cmd *cobra.Command, s *foreign.Settings) {
	for _, o := range []struct {
		role foreign.Role
		text string
	}{{foreign.Time, f.time}, {foreign.Date, f.date}, {foreign.Feed, f.feed}, {foreign.Temperature, f.temperature}, {foreign.Ambient, f.ambient}} {
		if o.text != "" {
			s.Columns[o.role] = foreign.ParseColumn(o.text)
		}
	}
	if len(f.circuits) > 0 {
		s.Columns[foreign.TrappedA] = circuitColumn(f.circuits["a"])
		s.Columns[foreign.TrappedB] = circuitColumn(f.circuits["b"])
	}
	for _, o := range []struct{ into, from *string }{
		{&s.Delimiter, &f.delimiter}, {&s.Decimal, &f.decimal}, {&s.Encoding, &f.encoding}, {&s.TimeFormat, &f.timeFormat}, {&s.Zone, &f.zone},
	} {
		if *o.from != "" {
			*o.into = *o.from
		}
	}
	if f.headerLine != 0 {
		s.HeaderLine = f.headerLine
	}
	if f.noHeader {
		s.HeaderLine = foreign.NoHeader
	}
	if cmd.Flags().Changed("absolute") {
		s.Absolute = f.absolute
	}
}

func circuitColumn(text string) foreign.Column {
	if text == "" {
		return foreign.Column{Name: foreign.None}
	}
	return foreign.ParseColumn(text)
}

func checkCircuits(circuits map[string]string) error {
	for name := range circuits {
		if !slices.Contains([]string{"a", "b"}, name) {
			return &strict.Error{Field: "--circuit", Found: strict.Quote(name), Want: "a=COLUMN or b=COLUMN"}
		}
	}
	return nil
}

// parseWindow reads FROM..TO; either end may be left out.
func parseWindow(text string) (analysis.FindOptions, error) {
	o := analysis.FindOptions{From: math.NaN(), To: math.NaN()}
	if text == "" {
		return o, nil
	}
	from, to, ok := strings.Cut(text, "..")
	if !ok {
		return o, &strict.Error{Field: "--hold", Found: strict.Quote(text), Want: "FROM..TO with units, e.g. 60s..360s"}
	}
	o.Given = true
	for _, end := range []struct {
		text string
		into *float64
	}{{from, &o.From}, {to, &o.To}} {
		if strings.TrimSpace(end.text) == "" {
			continue
		}
		var err error
		if *end.into, err = si.Parse(end.text, si.Time); err != nil {
			return o, named("--hold", err)
		}
	}
	if o.From >= o.To {
		return o, &strict.Error{Field: "--hold", Found: strict.Quote(text), Want: "an end after the start"}
	}
	return o, nil
}

// estimated reads "a ± b unit" as an estimate; nil for an empty text.
func estimated(flag, text string, q si.Quantity) (*uncertainty.Estimate, error) {
	if text == "" {
		return nil, nil
	}
	value, u, err := si.ParseUncertain(text, q)
	if err != nil {
		return nil, named(flag, err)
	}
	return &uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Quantity: q}, nil
}

// saveSettingsTo writes the settings file, if one is asked for.
func (f *assessFlags) save(found foreign.Settings, t assessTable) error {
	if f.saveSettings == "" {
		return nil
	}
	if info, err := os.Stat(f.saveSettings); err == nil && info.IsDir() {
		return &strict.Error{Field: "--save-settings", Found: "a folder", Want: "a file"}
	}
	return unwritable("--save-settings", f.saveSettings, foreign.SaveSettings(f.saveSettings, found, func(w io.Writer) error { return t.write(w) }))
}
