package bench_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq/bench"
)

var block = unnumber(`
1  [[characterisation]]
2  bench = "small"
3  model = "HV-1"
4  circuit = "a"
5  fluid = "oil ISO VG 32"
6  pressure_range = ["80 bar", "120 bar"]
7  date = 2026-09-14
8  expiry = 2027-03-14
9  source = "20 runs"
10 thermal_coefficient = "4.5 ± 0.15 bar/K"
11 thermal_coefficient_dof = 19
12 lag = "-40 ± 8 s"
13 stiffness = "12 ± 0.5 bar/mL"
14 settling_amplitude = "0.4 ± 0.1 bar"
15 settling_time_constant = "60 ± 10 s"
16 noise = "0.01 bar"
`)

func parsed(t *testing.T, text string) *bench.Bench {
	t.Helper()
	b, err := bench.Parse("bench.toml", []byte(text))
	require.NoError(t, err)
	return b
}

func TestEachFaultOfACharacterisationFile(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"as it should be", nil, nil},
		{"one bracket", []string{"[[characterisation]]\n", "[characterisation]\n"}, []string{
			`c.toml:1: characterisation: found a table, want at least one table [[characterisation]]`}},
		{"names", []string{`bench = "small"`, ``, `model = "HV-1"`, `model = 1`, `circuit = "a"`, `circuit = "A"`, `source = "20 runs"`, ``}, []string{
			`c.toml:1: characterisation 1: bench: found nothing, want a text in quotes, on one line`,
			`c.toml:1: characterisation 1: source: found nothing, want a text in quotes, on one line`,
			`c.toml:3: characterisation 1: model: found 1, want a text in quotes, on one line`,
			`c.toml:4: characterisation 1: circuit: found "A", want "a" or "b"`}},
		{"expiry before date", []string{`expiry = 2027-03-14`, `expiry = 2026-03-14`}, []string{
			`c.toml:8: characterisation 1: expiry: found 2026-03-14, want a day after the characterisation's own, 2026-09-14`}},
		{"pressure range", []string{`["80 bar", "120 bar"]`, `["120 bar", "80 bar"]`}, []string{
			`c.toml:6: characterisation 1: pressure_range: found ["120 bar", "80 bar"], want a list of two, the lower one first, e.g. ["0 bar", "250 bar"]`}},
		{"no uncertainty", []string{`"4.5 ± 0.15 bar/K"`, `"4.5 bar/K"`}, []string{
			`c.toml:10: characterisation 1: thermal_coefficient: found "4.5 bar/K", want a thermal coefficient ± its standard uncertainty in Pa/K, bar/K and the like, e.g. "4.5 ± 0.2 bar/K"`}},
		{"other unit", []string{`"4.5 ± 0.15 bar/K"`, `"4.5 ± 0.15 bar"`}, []string{
			`c.toml:10: characterisation 1: thermal_coefficient: found "4.5 ± 0.15 bar", want a thermal coefficient ± its standard uncertainty in Pa/K, bar/K and the like, e.g. "4.5 ± 0.2 bar/K"`}},
		{"none of it", []string{`"4.5 ± 0.15 bar/K"`, `"4.5 ± 0 bar/K"`}, []string{
			`c.toml:10: characterisation 1: thermal_coefficient: found "4.5 ± 0 bar/K", want a thermal coefficient ± its standard uncertainty in Pa/K, bar/K and the like, e.g. "4.5 ± 0.2 bar/K"`}},
		{"below zero", []string{`"4.5 ± 0.15 bar/K"`, `"-4.5 ± 0.15 bar/K"`, `"12 ±`, `"0 ±`}, []string{
			`c.toml:10: characterisation 1: thermal_coefficient: found "-4.5 ± 0.15 bar/K", want a value above zero`,
			`c.toml:13: characterisation 1: stiffness: found "0 ± 0.5 bar/mL", want a value above zero`}},
		{"dof", []string{`dof = 19`, `dof = 0.5`}, []string{
			`c.toml:11: characterisation 1: thermal_coefficient_dof: found 0.5, want a number of at least 1`}},
		{"dof of nothing", []string{`thermal_coefficient = "4.5 ± 0.15 bar/K"`, ``}, []string{
			`c.toml:11: characterisation 1: thermal_coefficient_dof: found 19, want no such key here (only beside thermal_coefficient)`}},
		{"half of settling", []string{`settling_time_constant = "60 ± 10 s"`, ``}, []string{
			`c.toml:1: characterisation 1: settling_time_constant: found nothing, want the time constant that belongs to settling_amplitude, e.g. "60 ± 15 s"`}},
		{"other half of settling", []string{`settling_amplitude = "0.4 ± 0.1 bar"`, ``}, []string{
			`c.toml:1: characterisation 1: settling_amplitude: found nothing, want the amplitude that belongs to settling_time_constant, e.g. "1.5 ± 0.3 bar"`}},
		{"noise", []string{`noise = "0.01 bar"`, `noise = "0 bar"`}, []string{
			`c.toml:16: characterisation 1: noise: found "0 bar", want a pressure change with unit, above zero, e.g. "2 bar"`}},
		{"correlation", []string{`noise = "0.01 bar"`, "lag_correlation = 1\nsettling_correlation = \"a\""}, []string{
			`c.toml:16: characterisation 1: lag_correlation: found 1, want a number between -1 and 1`,
			`c.toml:17: characterisation 1: settling_correlation: found "a", want a number between -1 and 1`}},
		{"correlation of nothing", []string{`lag = "-40 ± 8 s"`, `lag_correlation = 0.2`}, []string{
			`c.toml:12: characterisation 1: lag_correlation: found 0.2, want no such key here (only beside thermal_coefficient and lag)`}},
		{"autocorrelation", []string{`noise = "0.01 bar"`, "noise = \"0.01 bar\"\nnoise_autocorrelation = -0.1"}, []string{
			`c.toml:17: characterisation 1: noise_autocorrelation: found -0.1, want a number from 0 to below 1`}},
		{"autocorrelation of nothing", []string{`noise = "0.01 bar"`, "noise_autocorrelation = 0.1"}, []string{
			`c.toml:16: characterisation 1: noise_autocorrelation: found 0.1, want no such key here (only beside noise)`}},
		{"half of warming", []string{`noise = "0.01 bar"`, `warming_amplitude = "0.3 ± 0.1 K"`}, []string{
			`c.toml:1: characterisation 1: warming_time_constant: found nothing, want the time constant that belongs to warming_amplitude, e.g. "180 ± 40 s"`}},
		{"other half of warming", []string{`noise = "0.01 bar"`, `warming_time_constant = "0 ± 1 s"`}, []string{
			`c.toml:1: characterisation 1: warming_amplitude: found nothing, want the amplitude that belongs to warming_time_constant, e.g. "0.3 ± 0.1 K"`,
			`c.toml:16: characterisation 1: warming_time_constant: found "0 ± 1 s", want a value above zero`}},
		{"creep, drift, viscosity", []string{`noise = "0.01 bar"`, "creep = \"0.1 bar\"\ndrift = \"1 ± 0.1 bar\"\nviscosity_change = \"-3 %\""}, []string{
			`c.toml:16: characterisation 1: creep: found "0.1 bar", want a pressure change ± its standard uncertainty in Pa, hPa, kPa, MPa, bar, mbar, psi, ksi, kgf/cm², at, atm, Torr, mmHg, inHg, mmH2O, inH2O, ftH2O, e.g. "2 ± 0.1 bar"`,
			`c.toml:17: characterisation 1: drift: found "1 ± 0.1 bar", want a pressure rate ± its standard uncertainty in Pa/s, bar/min and the like, e.g. "0.5 ± 0.05 bar/min"`,
			`c.toml:18: characterisation 1: viscosity_change: found "-3 %", want a number ± its standard uncertainty in 1, %, ppm, mV/V, e.g. "5 ± 1 %"`}},
		{"unknown key", []string{`noise = "0.01 bar"`, `nois = "0.01 bar"`}, []string{
			`c.toml:16: characterisation 1: nois: found an unknown key, want "noise"?`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := parsed(t, small)
			err := b.AttachCharacterisation("c.toml", []byte(broken(t, block, c.edits...)))
			assert.Equal(t, c.want, lines(err))
			assert.Equal(t, err == nil, b.CharacterisationHash != "", "a bench takes a file without faults only")
		})
	}
	b := parsed(t, small)
	assert.EqualError(t, b.AttachCharacterisation("c.toml", nil),
		"c.toml:1: characterisation: found nothing, want at least one table [[characterisation]]")
	assert.EqualError(t, b.AttachCharacterisation("c.toml", []byte("[[characterisation]]\n"+
		"bench = \"b\"\nmodel = \"m\"\ncircuit = \"a\"\nfluid = \"f\"\nsource = \"s\"\ndate = 2026-01-01\nexpiry = 2026-02-01\npressure_range = [\"1 bar\", \"2 bar\"]\n")),
		"c.toml:1: characterisation 1: found no figure, want at least one of thermal_coefficient, lag, stiffness, settling_amplitude with settling_time_constant, creep, warming_amplitude with warming_time_constant, viscosity_change, noise, drift")
}

func TestCharacterisedFiguresAreSI(t *testing.T) {
	b := parsed(t, small)
	require.NoError(t, b.AttachCharacterisation("c.toml", []byte(block)))
	c, reason := b.Characterisation("HV-1", "a", "oil ISO VG 32", 100e5, day("2026-10-01"))
	require.NotNil(t, c, reason)
	for _, row := range []struct {
		got  *uncertainty.Estimate
		want uncertainty.Estimate
	}{
		{c.ThermalCoefficient, uncertainty.Estimate{Value: 4.5e5, StdUncertainty: 0.15e5, DegreesOfFreedom: 19, Quantity: si.ThermalCoefficient}},
		{c.Lag, uncertainty.Estimate{Value: -40, StdUncertainty: 8, DegreesOfFreedom: math.Inf(1), Quantity: si.Time}},
		{c.Stiffness, uncertainty.Estimate{Value: 12e11, StdUncertainty: 0.5e11, DegreesOfFreedom: math.Inf(1), Quantity: si.Stiffness}},
		{c.SettlingAmplitude, uncertainty.Estimate{Value: 0.4e5, StdUncertainty: 0.1e5, DegreesOfFreedom: math.Inf(1), Quantity: si.PressureChange}},
		{c.SettlingTimeConstant, uncertainty.Estimate{Value: 60, StdUncertainty: 10, DegreesOfFreedom: math.Inf(1), Quantity: si.Time}},
		{c.Noise, uncertainty.Estimate{Value: 0.01e5, DegreesOfFreedom: math.Inf(1), Quantity: si.PressureChange}},
	} {
		require.NotNil(t, row.got)
		assert.InEpsilon(t, row.want.Value, row.got.Value, 1e-12)
		assert.InDelta(t, row.want.StdUncertainty, row.got.StdUncertainty, row.want.StdUncertainty*1e-12)
		assert.Equal(t, row.want.DegreesOfFreedom, row.got.DegreesOfFreedom)
		assert.Equal(t, row.want.Quantity, row.got.Quantity)
	}
	assert.Equal(t, 1, c.Line)
}

func day(text string) time.Time {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return t
}

func TestLookupSaysWhyNoCharacterisationFits(t *testing.T) {
	b := parsed(t, small)
	_, reason := b.Characterisation("HV-1", "a", "oil ISO VG 32", 100e5, day("2026-10-01"))
	assert.Equal(t, "no characterisation of bench small", reason)
	require.NoError(t, b.AttachCharacterisation("c.toml", []byte(block)))

	for _, c := range []struct {
		model, circuit, fluid string
		pressure              float64
		at, want              string
	}{
		{"HV-1", "a", "Oil  iso vg 32", 80e5, "2026-09-14", ""},
		{"HV-1", "a", "oil ISO VG 32", 120e5, "2027-03-14", ""},
		{"HV-2", "a", "oil ISO VG 32", 100e5, "2026-10-01", "no characterisation of model HV-2 on this bench"},
		{"hv-1", "a", "oil ISO VG 32", 100e5, "2026-10-01", "no characterisation of model hv-1 on this bench"},
		{"HV-1", "b", "oil ISO VG 32", 100e5, "2026-10-01", "no characterisation of circuit b of model HV-1"},
		{"HV-1", "a", "water", 100e5, "2026-10-01", "the characterisation of model HV-1 is for another fluid (oil ISO VG 32)"},
		{"HV-1", "a", "oil ISO VG 32", 121e5, "2026-10-01", "the characterisation of model HV-1 is for 80 to 120 bar, not for 121 bar"},
		{"HV-1", "a", "oil ISO VG 32", math.NaN(), "2026-10-01", "the characterisation of model HV-1 is for 80 to 120 bar, and the pressure is not known"},
		{"HV-1", "a", "oil ISO VG 32", 100e5, "2026-09-13", "the characterisation of model HV-1 was made later, on 2026-09-14"},
		{"HV-1", "a", "oil ISO VG 32", 100e5, "2027-03-15", "the characterisation of model HV-1 expired on 2027-03-14"},
	} {
		got, reason := b.Characterisation(c.model, c.circuit, c.fluid, c.pressure, day(c.at))
		assert.Equal(t, c.want, reason)
		assert.Equal(t, c.want == "", got != nil)
	}

	require.NoError(t, b.AttachCharacterisation("c.toml", []byte(broken(t, block, `"small"`, `"another"`))))
	_, reason = b.Characterisation("HV-1", "a", "oil ISO VG 32", 100e5, day("2026-10-01"))
	assert.Equal(t, "no characterisation of bench small", reason)
}

func TestLookupTakesTheLatestThatFitsAndElseNamesTheNearest(t *testing.T) {
	newer := broken(t, block, "2026-09-14", "2026-11-01", `"20 runs"`, `"newer"`, "2027-03-14", "2027-06-01")
	b := parsed(t, small)
	require.NoError(t, b.AttachCharacterisation("c.toml", []byte(block+newer+broken(t, block, "HV-1", "HV-2"))))
	fits := func(at string) (string, string) {
		c, reason := b.Characterisation("HV-1", "a", "oil ISO VG 32", 100e5, day(at))
		if c == nil {
			return "", reason
		}
		return c.Source, reason
	}
	source, _ := fits("2026-10-31")
	assert.Equal(t, "20 runs", source)
	source, _ = fits("2026-11-01")
	assert.Equal(t, "newer", source)
	_, reason := fits("2027-07-01")
	assert.Equal(t, "the characterisation of model HV-1 expired on 2027-06-01", reason, "of two that expired the later one is named")
}

// What each kind of characterisation gives stands in a block of its own; each
// figure comes from the latest fitting block that has it.
func TestFiguresOfSeveralBlocksAreTakenTogether(t *testing.T) {
	only := func(date, expiry, source string, figures ...string) string {
		head, _, _ := strings.Cut(broken(t, block, "2026-09-14", date, "2027-03-14", expiry, `"20 runs"`, `"`+source+`"`), "thermal_coefficient")
		return head + strings.Join(figures, "\n") + "\n"
	}
	text := only("2026-09-01", "2027-09-01", "all", `thermal_coefficient = "4 ± 0.2 bar/K"`, `lag = "30 ± 5 s"`, `lag_correlation = 0.5`, `creep = "0.02 ± 0.01 bar"`, `noise = "0.01 bar"`, `noise_autocorrelation = 0.7`) +
		only("2026-10-01", "2027-02-01", "warm", `thermal_coefficient = "5 ± 0.2 bar/K"`, `drift = "0.01 ± 0.005 bar/h"`) +
		only("2026-10-01", "2027-03-01", "steps", `stiffness = "12 ± 1 bar/mL"`, `thermal_coefficient = "6 ± 0.2 bar/K"`, `viscosity_change = "-3.5 ± 0.5 %"`) +
		only("2026-05-01", "2026-06-01", "old", `settling_amplitude = "0.4 ± 0.1 bar"`, `settling_time_constant = "60 ± 10 s"`, `settling_correlation = -0.9`)
	b := parsed(t, small)
	require.NoError(t, b.AttachCharacterisation("c.toml", []byte(text)))
	c, reason := b.Characterisation("HV-1", "a", "oil ISO VG 32", 100e5, day("2026-11-01"))
	require.NotNil(t, c, reason)
	assert.Equal(t, 5e5, c.ThermalCoefficient.Value, "the latest, and of one day the first")
	assert.Equal(t, 30.0, c.Lag.Value)
	assert.Zero(t, c.LagCorrelation, "figures of different runs are not correlated")
	assert.InEpsilon(t, 12e11, c.Stiffness.Value, 1e-12)
	assert.InEpsilon(t, -0.035, c.ViscosityChange.Value, 1e-12)
	assert.InEpsilon(t, 0.01e5/3600, c.Drift.Value, 1e-12)
	assert.Equal(t, 0.7, c.NoiseAutocorrelation)
	assert.Nil(t, c.SettlingAmplitude)
	assert.Equal(t, []string{"settling: the characterisation of model HV-1 expired on 2026-06-01"}, c.Lapsed)
	assert.Equal(t, "thermal coefficient, drift: warm; lag, creep, noise: all; stiffness, viscosity change: steps", c.Source)
	assert.Equal(t, day("2027-02-01"), c.Expiry, "of all that was used the earliest")

	c, _ = b.Characterisation("HV-1", "a", "oil ISO VG 32", 100e5, day("2026-05-10"))
	require.NotNil(t, c)
	assert.Equal(t, -0.9, c.SettlingCorrelation)
	assert.True(t, math.IsNaN(c.NoiseAutocorrelation))
	assert.Equal(t, "old", c.Source)

	c, _ = b.Characterisation("HV-1", "a", "oil ISO VG 32", 100e5, day("2027-02-15"))
	require.NotNil(t, c)
	assert.Equal(t, 6e5, c.ThermalCoefficient.Value, "what has expired is not taken")
	c, _ = b.Characterisation("HV-1", "a", "oil ISO VG 32", 100e5, day("2026-09-15"))
	require.NotNil(t, c)
	assert.Equal(t, 0.5, c.LagCorrelation)
}

func TestOverdueIsTheDayAfterDueInUTC(t *testing.T) {
	b := parsed(t, small)
	due := time.Date(2027, 3, 2, 23, 59, 59, 0, time.UTC)
	assert.Empty(t, b.Overdue(due))
	overdue := b.Overdue(due.Add(time.Second))
	require.Len(t, overdue, 1)
	assert.Equal(t, "trapped", overdue[0].Name)
	east := time.FixedZone("east", 12*3600)
	assert.Empty(t, b.Overdue(due.In(east)), "the same instant is judged alike in every zone")
}

func TestLoadNamesAMissingOrFaultyCharacterisationFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "bench.toml")
	require.NoError(t, os.WriteFile(path, []byte("characterisation = \"c.toml\"\n"+small), 0o600))
	_, err := bench.Load(path)
	assert.EqualError(t, err, filepath.Join(dir, "c.toml")+": found no such file, want the characterisation file that "+path+" names")

	require.NoError(t, os.WriteFile(filepath.Join(dir, "c.toml"), []byte("x"), 0o600))
	_, err = bench.Load(path)
	assert.EqualError(t, err, filepath.Join(dir, "c.toml")+":1: found \"x\", want key = value")

	require.NoError(t, os.WriteFile(filepath.Join(dir, "c.toml"), []byte(block), 0o600))
	b, err := bench.Load(path)
	require.NoError(t, err)
	assert.Equal(t, block, b.CharacterisationText)

	_, err = bench.Load(filepath.Join(dir, "none.toml"))
	assert.EqualError(t, err, filepath.Join(dir, "none.toml")+": found no such file, want a bench file")
}
