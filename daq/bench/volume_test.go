package bench_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/strict"
)

func TestExampleVolumeAndFluidAreSI(t *testing.T) {
	b, err := bench.Load("testdata/bench.toml")
	require.NoError(t, err)
	v := b.Volume("HV-1", "a")
	require.NotNil(t, v)
	assert.Nil(t, b.Volume("HV-1", "b"))
	assert.Nil(t, b.Volume("hv-1", "a"), "models are compared letter for letter")
	assert.InDelta(t, 120e-6, v.Trapped.Value, 1e-12)
	assert.InDelta(t, 5e-6, v.Trapped.StdUncertainty, 1e-12)
	assert.InDelta(t, 0.005, v.Air.Value, 1e-12)
	assert.InDelta(t, 60, v.CoolingTime.Value, 1e-12)
	require.Len(t, v.Tubes, 1)
	assert.Equal(t, "free", v.Tubes[0].Ends)
	assert.InDelta(t, 0.05e-3, v.Tubes[0].Outside.StdUncertainty, 1e-12)
	require.Len(t, v.Hoses, 1)
	assert.InDelta(t, 0.9e-6, v.Hoses[0].Expansion.Value, 1e-15)
	assert.InDelta(t, 69e5, v.Hoses[0].At, 1e-6)

	assert.Equal(t, "fluids.toml", b.FluidsPath)
	assert.Equal(t, strict.Hash([]byte(b.FluidsText)), b.FluidsHash)
	f := b.Fluid("House oil  7")
	require.NotNil(t, f)
	assert.Nil(t, b.Fluid("house oil 8"))
	assert.InDelta(t, 293.15, f.Reference, 1e-9)
	assert.InDelta(t, 1.62e9, f.BulkModulus.Value, 1)
	assert.InDelta(t, 7.2e-4, f.Expansion.Value, 1e-12)
	assert.InDelta(t, 31.5e-6, f.Viscosity[0].Viscosity.Value, 1e-12)
	assert.InDelta(t, 373.15, f.Viscosity[1].Temperature, 1e-9)
	assert.InDelta(t, 350e5, f.PressureHigh, 1e-6)
}

// withVolume is small with a volume behind it, from line 76 on.
var withVolume = small + unnumber(`
76 [[volume]]
77 model = "HV-1"
78 circuit = "a"
79 source = "drawing"
80 trapped = "60 ± 3 mL"
81 air = "0.5 ± 0.3 %"
82 body = "steel"
83 [[volume.tube]]
84 material = "copper"
85 ends = "free"
86 outside = "6 ± 0.05 mm"
87 wall = "1 ± 0.05 mm"
88 length = "1.5 ± 0.02 m"
89 [[volume.hose]]
90 length = "0.4 ± 0.01 m"
91 bore = "3.2 ± 0.1 mm"
92 expansion = "0.9 ± 0.2 mL/m"
93 at = "69 bar"
`)

func TestEachFaultOfAVolume(t *testing.T) {
	_, err := bench.Parse("bench.toml", []byte(withVolume))
	require.NoError(t, err)
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"nothing in it", []string{"model = \"HV-1\"\ncircuit = \"a\"\nsource = \"drawing\"\ntrapped = \"60 ± 3 mL\"\nair = \"0.5 ± 0.3 %\"\nbody = \"steel\"\n", ""}, []string{
			`bench.toml:76: volume 1: model: found nothing, want a text in quotes, on one line`,
			`bench.toml:76: volume 1: circuit: found nothing, want "a" or "b"`,
			`bench.toml:76: volume 1: source: found nothing, want a text in quotes, on one line`,
			`bench.toml:76: volume 1: trapped: found nothing, want a volume ± its standard uncertainty in m³, L, mL, cm³, µL, mm³, in³, ft³, US gal, UK gal, US fl oz, e.g. "120 ± 5 mL"`,
			`bench.toml:76: volume 1: air: found nothing, want a number ± its standard uncertainty in 1, %, ppm, mV/V, e.g. "5 ± 1 %"`,
			`bench.toml:76: volume 1: body: found nothing, want "steel" or "stainless steel" or "copper" or "aluminium" or "brass" or "cast iron"`,
		}},
		{"without uncertainty", []string{`"60 ± 3 mL"`, `"60 mL"`}, []string{
			`bench.toml:80: volume 1: trapped: found "60 mL", want a volume ± its standard uncertainty in m³, L, mL, cm³, µL, mm³, in³, ft³, US gal, UK gal, US fl oz, e.g. "120 ± 5 mL"`}},
		{"below zero", []string{`"60 ± 3 mL"`, `"-60 ± 3 mL"`}, []string{
			`bench.toml:80: volume 1: trapped: found "-60 ± 3 mL", want a value above zero`}},
		{"too small for its parts", []string{`"60 ± 3 mL"`, `"20 ± 3 mL"`}, []string{
			`bench.toml:80: volume 1: trapped: found "20 ± 3 mL", want at least the 22.07 mL that its tubes and hoses hold`}},
		{"air without %", []string{`"0.5 ± 0.3 %"`, `"0.5 ± 0.3"`}, []string{
			`bench.toml:81: volume 1: air: found "0.5 ± 0.3", want a share of free air at one atmosphere from 0 to 25 %, e.g. "0.5 ± 0.3 %"`}},
		{"wood", []string{`body = "steel"`, `body = "wood"`}, []string{
			`bench.toml:82: volume 1: body: found "wood", want "steel" or "stainless steel" or "copper" or "aluminium" or "brass" or "cast iron"`}},
		{"cooling", []string{`body = "steel"`, "body = \"steel\"\ncooling_time = \"0 ± 1 s\""}, []string{
			`bench.toml:83: volume 1: cooling_time: found "0 ± 1 s", want a value above zero`}},
		{"ends", []string{`ends = "free"`, `ends = "loose"`}, []string{
			`bench.toml:85: volume 1: tube 1: ends: found "loose", want "free" or "open" or "fixed"`}},
		{"wall", []string{`"1 ± 0.05 mm"`, `"3 ± 0.05 mm"`}, []string{
			`bench.toml:87: volume 1: tube 1: wall: found "3 ± 0.05 mm", want less than half the outside diameter`}},
		{"another quantity", []string{`"0.4 ± 0.01 m"`, `"0.4 ± 0.01 mL"`, `"0.9 ± 0.2 mL/m"`, `"0.9 ± 0.2 mL"`}, []string{
			`bench.toml:90: volume 1: hose 1: length: found "0.4 ± 0.01 mL", want a length ± its standard uncertainty in m, cm, mm, in, ft, e.g. "4.75 ± 0.05 mm"`,
			`bench.toml:92: volume 1: hose 1: expansion: found "0.9 ± 0.2 mL", want a volume per length ± its standard uncertainty in m³/m, mL/m and the like, e.g. "1.1 ± 0.2 mL/m"`}},
		{"at no pressure", []string{`at = "69 bar"`, `at = "0 bar"`}, []string{
			`bench.toml:93: volume 1: hose 1: at: found "0 bar", want a pressure with unit, above zero, e.g. "100 bar"`}},
		{"unknown key", []string{`bore =`, `boar =`}, []string{
			`bench.toml:89: volume 1: hose 1: bore: found nothing, want a length ± its standard uncertainty in m, cm, mm, in, ft, e.g. "4.75 ± 0.05 mm"`,
			`bench.toml:91: volume 1: hose 1: boar: found an unknown key, want one of at, bore, expansion, length`}},
		{"a second time", []string{`at = "69 bar"`, "at = \"69 bar\"\n[[volume]]\nmodel = \"HV-1\"\ncircuit = \"a\"\nsource = \"s\"\ntrapped = \"60 ± 3 mL\"\nair = \"0.5 ± 0.3 %\"\nbody = \"brass\""}, []string{
			`bench.toml:94: volume 2: found model "HV-1", circuit a a second time, want one [[volume]] for each (first in line 76)`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := bench.Parse("bench.toml", []byte(broken(t, withVolume, c.edits...)))
			assert.Equal(t, c.want, lines(err))
		})
	}
}

var smallFluids = unnumber(`
1  [[fluid]]
2  name = "oil 7"
3  source = "data sheet"
4  temperature = "20 °C"
5  density = "868 ± 5 kg/m³"
6  expansion = "7.2e-4 ± 0.3e-4 1/K"
7  bulk_modulus = "1.62 ± 0.08 GPa"
8  specific_heat = "1950 ± 60 J/(kg K)"
9  viscosity = [["40 °C", "31.5 ± 0.6 mm²/s"], ["100 °C", "5.4 ± 0.2 mm²/s"]]
10 temperature_range = ["-10 °C", "90 °C"]
11 max_pressure = "350 bar"
`)

func TestEachFaultOfAFluidsFile(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"nothing wrong", nil, nil},
		{"no source", []string{"source = \"data sheet\"\n", ""}, []string{
			`fluids.toml:1: fluid "oil 7": source: found nothing, want a text in quotes, on one line`}},
		{"no uncertainty", []string{`"868 ± 5 kg/m³"`, `"868 kg/m³"`}, []string{
			`fluids.toml:5: fluid "oil 7": density: found "868 kg/m³", want a density ± its standard uncertainty in kg/m³, g/cm³, lb/ft³, e.g. "870 ± 5 kg/m³"`}},
		{"slip of the unit", []string{`"1.62 ± 0.08 GPa"`, `"1.62 ± 0.08 MPa"`}, []string{
			`fluids.toml:7: fluid "oil 7": bulk_modulus: found "1.62 ± 0.08 MPa", want a bulk modulus from 0.2 GPa to 10 GPa`}},
		{"one viscosity", []string{`[["40 °C", "31.5 ± 0.6 mm²/s"], ["100 °C", "5.4 ± 0.2 mm²/s"]]`, `[["40 °C", "31.5 ± 0.6 mm²/s"]]`}, []string{
			`fluids.toml:9: fluid "oil 7": viscosity: found [["40 °C", "31.5 ± 0.6 mm²/s"]], want two pairs of temperature and viscosity, e.g. [["40 °C", "32 ± 2 mm²/s"], ["100 °C", "5.4 ± 0.3 mm²/s"]]`}},
		{"thicker when warmer", []string{`"5.4 ± 0.2 mm²/s"`, `"54 ± 2 mm²/s"`}, []string{
			`fluids.toml:9: fluid "oil 7": viscosity: found a list of 2, want the warmer one last, and thinner than the first`}},
		{"thinner than the law", []string{`"5.4 ± 0.2 mm²/s"`, `"0.3 ± 0.2 mm²/s"`}, []string{
			`fluids.toml:9: fluid "oil 7": viscosity: item 2: viscosity: found "0.3 ± 0.2 mm²/s", want at least 0.4 mm²/s`}},
		{"known too poorly", []string{`"5.4 ± 0.2 mm²/s"`, `"5.4 ± 2 mm²/s"`}, []string{
			`fluids.toml:9: fluid "oil 7": viscosity: item 2: viscosity: found "5.4 ± 2 mm²/s", want a standard uncertainty of at most a quarter of the value`}},
		{"twice", []string{`max_pressure = "350 bar"`, "max_pressure = \"350 bar\"\n" + strings.TrimSpace(smallFluids)}, []string{
			`fluids.toml:13: fluid "oil 7": name: found "oil 7" a second time, want another name (first in line 2)`}},
		{"empty", []string{smallFluids, ""}, []string{
			`fluids.toml:1: fluid: found nothing, want at least one table [[fluid]]`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := &bench.Bench{}
			err := b.AttachFluids("fluids.toml", []byte(broken(t, smallFluids, c.edits...)))
			assert.Equal(t, c.want, lines(err))
			if err != nil {
				assert.Empty(t, b.Fluids, "a bench with faults in its fluids is unchanged")
			}
		})
	}
}

func TestFluidsFileThatIsMissing(t *testing.T) {
	dir := t.TempDir()
	path := dir + "/bench.toml"
	require.NoError(t, os.WriteFile(path, []byte("fluids = \"oils.toml\"\n"+small), 0o666))
	_, err := bench.Load(path)
	assert.ErrorContains(t, err, "oils.toml: found no such file, want the fluids file that "+path+" names")
}

func FuzzAttachFluids(f *testing.F) {
	f.Add(smallFluids)
	f.Add("[[fluid]]\nname = \"x\"\nviscosity = [[], [1]]\n")
	f.Fuzz(func(t *testing.T, text string) {
		b := &bench.Bench{}
		if err := b.AttachFluids("f.toml", []byte(text)); err != nil {
			return
		}
		for _, fluid := range b.Fluids {
			if !(fluid.Viscosity[0].Viscosity.Value > fluid.Viscosity[1].Viscosity.Value) || !(fluid.BulkModulus.Value > 0) || fluid.Source == "" {
				t.Fatalf("%+v is no liquid", fluid)
			}
		}
	})
}
