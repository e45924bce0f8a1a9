package result

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/fluid"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
)

// benchText is a small bench whose only knowledge of a model is its volume.
const benchText = `
name = "Bench 9"
fluids = "fluids.toml"
[ambient]
pressure = "1000 ± 3 mbar"
[[link]]
name = "bus"
port = "COM3"
baud = 19200
[[instrument]]
name = "module"
kind = "modbus-rtu"
link = "bus"
address = 1
interval = "0.5 s"
[[channel]]
name = "trapped"
quantity = "pressure"
instrument = "module"
function = 4
register = 0
type = "float32"
word_order = "high-first"
raw_unit = "bar"
reference = "gauge"
range = ["0 bar", "250 bar"]
resolution = "0.001 bar"
[[channel]]
name = "body"
quantity = "temperature"
instrument = "module"
function = 4
register = 2
type = "float32"
word_order = "high-first"
raw_unit = "°C"
range = ["-20 °C", "120 °C"]
resolution = "0.001 K"
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "trapped"
feed = "unmeasured"
temperature = "body"
[[volume]]
model = "HV-1"
circuit = "a"
source = "drawing and tape (invented)"
trapped = "60 ± 3 mL"
air = "0.4 ± 0.2 %"
body = "steel"
[[volume.tube]]
material = "steel"
ends = "free"
outside = "6 ± 0.05 mm"
wall = "1 ± 0.05 mm"
length = "1.5 ± 0.02 m"
[[volume.hose]]
length = "0.2 ± 0.01 m"
bore = "3.2 ± 0.1 mm"
expansion = "0.5 ± 0.1 mL/m"
at = "69 bar"
`

const fluidsText = `
[[fluid]]
name = "house oil 7"
source = "data sheet (invented)"
temperature = "15 °C"
density = "0.92 ± 0.01 g/cm³"
expansion = "7.5e-4 ± 0.3e-4 1/K"
bulk_modulus = "1.9 ± 0.1 GPa"
specific_heat = "1.85 ± 0.05 kJ/(kg K)"
viscosity = [["0 °C", "120 ± 10 mm²/s"], ["60 °C", "14 ± 1 mm²/s"]]
temperature_range = ["-10 °C", "80 °C"]
max_pressure = "300 bar"
`

const procedureText = `
name = "hold"
revision = "A"
model = "HV-1"
fluid = "Mineral hydraulic oil ISO VG32"
circuits = ["a"]
source = "invented"
test_pressure = "100 bar"
start_window = ["92 bar", "108 bar"]
maximum_pressure = "130 bar"
safe_pressure = "2 bar"
feed_below = "3 bar"
[phase.fill]
end = "operator"
[phase.pressurise]
end = "operator"
[phase.lock]
end = "operator"
[phase.vent_feed]
end = "operator"
[phase.stabilise]
duration = "60 s"
[phase.hold]
duration = "5 min"
[phase.release]
end = "operator"
[[limit]]
quantity = "decay_rate"
max = "0.5 bar/min"
`

func benchNine(t *testing.T) (*bench.Bench, *procedure.Procedure) {
	t.Helper()
	b, err := bench.Parse("bench.toml", []byte(benchText))
	require.NoError(t, err)
	require.NoError(t, b.AttachFluids("fluids.toml", []byte(fluidsText)))
	p, err := procedure.Parse("hold.toml", []byte(procedureText))
	require.NoError(t, err)
	return b, p
}

// The bench file's metals and the table of materials are one list.
func TestBenchKnowsTheSameMetals(t *testing.T) {
	assert.Equal(t, fluid.Materials(), bench.Metals)
	for _, e := range fluid.AllEnds {
		assert.Contains(t, []string{"free", "open", "fixed"}, string(e))
	}
}

func TestDerivedFiguresStandInForWhatIsNotCharacterised(t *testing.T) {
	b, p := benchNine(t)
	const why = "no characterisation of bench Bench 9"
	known, d := derived(decay.Characterised{Source: why}, b, p, "a", UsualTemperature, why)
	l, ok := LiquidOf(b, p.Fluid)
	require.True(t, ok)
	v := VolumeOf(b.Volumes[0], l)
	s := fluid.State{PressureAbs: 101e5, Temperature: UsualTemperature}
	coefficient, err := v.ThermalCoefficient(s)
	require.NoError(t, err)
	stiffness, err := v.Stiffness(s)
	require.NoError(t, err)
	assert.Equal(t, coefficient.Estimate, *known.ThermalCoefficient)
	assert.Equal(t, stiffness.Estimate, *known.Stiffness)
	assert.Equal(t, si.PerKelvin, known.ViscosityChange.Quantity)
	assert.Nil(t, known.Lag, "a lag is never derived")
	assert.Nil(t, known.Warming, "without a cooling time the warming cannot be placed")
	assert.Greater(t, known.ThermalCoefficient.StdUncertainty/known.ThermalCoefficient.Value, 0.05)
	assert.Equal(t, "thermal coefficient and stiffness from fluid and bench data, not measured (mineral hydraulic oil ISO VG 32; drawing and tape (invented))", known.Source)
	assert.Equal(t, "thermal coefficient and stiffness from fluid and bench data, not measured: no characterisation of bench Bench 9", d.reason())
	assert.Contains(t, d.advice(), "characterise the thermal coefficient and stiffness of this bench and model")
}

func TestWhatIsCharacterisedWins(t *testing.T) {
	b, p := benchNine(t)
	measured := uncertainty.Estimate{Value: 1e5, StdUncertainty: 1e4, DegreesOfFreedom: 9, Quantity: si.ThermalCoefficient}
	cooling := uncertainty.Estimate{Value: 60, StdUncertainty: 30}
	b.Volumes[0].CoolingTime = &cooling
	known, d := derived(decay.Characterised{ThermalCoefficient: &measured, Source: "20 runs"}, b, p, "a", UsualTemperature, "")
	assert.Equal(t, measured, *known.ThermalCoefficient)
	assert.NotNil(t, known.Stiffness)
	require.NotNil(t, known.Warming)
	assert.Equal(t, cooling, known.Warming.TimeConstant)
	assert.Equal(t, []string{"stiffness", "warming by pressurising"}, d.taken)
	assert.Contains(t, known.Source, "20 runs; stiffness and warming by pressurising from fluid and bench data, not measured")
	assert.Contains(t, d.reason(), "the characterisation does not have them")
}

func TestNothingIsDerivedWithoutVolumeOrLiquid(t *testing.T) {
	for name, spoil := range map[string]func(*bench.Bench, *procedure.Procedure){
		"another model":    func(_ *bench.Bench, p *procedure.Procedure) { p.Model = "HV-2" },
		"an unknown fluid": func(_ *bench.Bench, p *procedure.Procedure) { p.Fluid = "whale oil" },
		"no volume":        func(b *bench.Bench, _ *procedure.Procedure) { b.Volumes = nil },
	} {
		b, p := benchNine(t)
		spoil(b, p)
		known, d := derived(decay.Characterised{Source: "why"}, b, p, "a", UsualTemperature, "why")
		assert.Equal(t, decay.Characterised{Source: "why"}, known, name)
		assert.Empty(t, d.reason(), name)
	}
	b, p := benchNine(t)
	p.TestPressure = 900e5
	known, d := derived(decay.Characterised{Source: "why"}, b, p, "a", UsualTemperature, "why")
	assert.Nil(t, known.ThermalCoefficient)
	assert.Contains(t, d.reason(), "fluid and bench data say nothing of this volume: mineral hydraulic oil ISO VG 32: nothing is known at 900 bar")
}

func TestOwnLiquidOfTheFluidsFile(t *testing.T) {
	b, _ := benchNine(t)
	l, ok := LiquidOf(b, "House  oil 7")
	require.True(t, ok)
	p, err := l.At(fluid.State{PressureAbs: fluid.Atmosphere, Temperature: 288.15})
	require.NoError(t, err)
	assert.InEpsilon(t, 920, p.Density.Value, 1e-12)
	assert.InEpsilon(t, 1.9e9, p.BulkModulus.Value, 1e-12)
	assert.InEpsilon(t, 0.1e9, p.BulkModulus.StdUncertainty, 1e-9)
	assert.Equal(t, "data sheet (invented)", p.BulkModulus.Source)
}

// recorded makes a recording of a volume that cools by 0.1 K/min and leaks
// nothing, so that only its thermal coefficient explains the fall.
func recorded(t *testing.T, coefficient float64) *record.Recording {
	t.Helper()
	return recordedFrom(t, coefficient, 295.15)
}

// recordedFrom begins at a temperature, K.
func recordedFrom(t *testing.T, coefficient, start float64) *record.Recording {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "run")
	m := record.Meta{
		RunID: "r", SerialNumber: "HV1-00001", Model: "HV-1", Position: "1", ClockKind: "lock-step", Program: "test",
		Started:   time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC),
		Bench:     record.SourceFile{Name: "bench.toml", Text: benchText},
		Procedure: record.SourceFile{Name: "hold.toml", Text: procedureText},
		Fluids:    record.SourceFile{Name: "fluids.toml", Text: fluidsText},
		Channels: []daq.Channel{
			{Name: "trapped", Quantity: si.Pressure, RawUnit: "bar", Instrument: "module", Interval: time.Second / 2},
			{Name: "body", Quantity: si.Temperature, RawUnit: "°C", Instrument: "module", Interval: time.Second / 2},
		},
	}
	w, err := record.Create(dir, m)
	require.NoError(t, err)
	phases := []struct {
		at    time.Duration
		phase procedure.Phase
	}{{0, procedure.Fill}, {5, procedure.Pressurise}, {10, procedure.Lock}, {15, procedure.VentFeed}, {20, procedure.Stabilise}, {80, procedure.Hold}, {380, procedure.Release}, {390, procedure.Vented}}
	next := 0
	for i := range 790 {
		at := time.Duration(i) * time.Second / 2
		for ; next < len(phases) && phases[next].at*time.Second <= at; next++ {
			require.NoError(t, w.Event(daq.Event{Kind: daq.PhaseBegins, Circuit: "a", Subject: string(phases[next].phase), At: phases[next].at * time.Second}))
		}
		dT := -0.1 / 60 * max(0, at.Seconds()-10)
		p := 100e5 + coefficient*dT + 100*float64(i*7919%13)
		if at < 10*time.Second {
			p = 1e6 * at.Seconds()
		}
		if at > 380*time.Second { // what is read at the hold's end is still held
			p = 0
		}
		temperature := start + dT + 0.0005*float64(i*31%7)
		require.NoError(t, w.Scan(daq.Scan{At: at, Instrument: "module", Readings: []daq.Reading{
			{Channel: 0, Raw: p, Value: p}, {Channel: 1, Raw: temperature, Value: temperature},
		}}))
	}
	require.NoError(t, w.Close())
	rec, err := record.Open(dir)
	require.NoError(t, err)
	return rec
}

// A bench whose volume is described judges a cooling unit that it could not
// judge before, with the wide uncertainty of what was not measured, and says
// so.
func TestARecordingIsJudgedByDerivedFigures(t *testing.T) {
	b, p := benchNine(t)
	known, _ := derived(decay.Characterised{}, b, p, "a", 295.15, "")
	rec := recorded(t, known.ThermalCoefficient.Value)
	r, assessments, run, err := Assess(rec, Options{Number: 1, Program: "test"})
	require.NoError(t, err)
	test := r.Circuits[0].Tests[0]
	require.True(t, test.Valid, test.Reasons)
	rate := assessments[0].Estimates["decay_rate"]
	assert.InDelta(t, 0, rate.Value, 2*rate.StdUncertainty)
	// 0.1 K/min at the coefficient's own uncertainty.
	assert.GreaterOrEqual(t, rate.StdUncertainty, 0.9*0.1/60*known.ThermalCoefficient.StdUncertainty)
	used := test.Estimates["thermal_coefficient"]
	require.NotNil(t, used.Value)
	assert.InEpsilon(t, known.ThermalCoefficient.Value, *used.Value, 0.01)
	assert.Contains(t, used.Budget[0].Note, fluid.NotMeasured)
	assert.Contains(t, r.Reasons, "thermal coefficient from fluid and bench data, not measured: no characterisation of bench Bench 9")

	// An inconclusive one is told what is missing.
	assert.Equal(t, Source{Name: "fluids.toml"}, r.Fluids)
	run.Recording.Meta.Procedure.Text = procedureText[:len(procedureText)-len("max = \"0.5 bar/min\"\n")] + "max = \"0.02 bar/min\"\n"
	r, _, _, err = Assess(run.Recording, Options{Number: 1, Program: "test"})
	require.NoError(t, err)
	assert.Equal(t, "INCONCLUSIVE", r.Verdict)
	assert.Contains(t, r.Advice, "characterise the thermal coefficient of this bench and model: from fluid and bench data, not measured, it is known only roughly")
}

// The figures are those of the liquid as warm as it was just before the hold.
func TestDerivedFiguresFollowTheTemperature(t *testing.T) {
	b, p := benchNine(t)
	for _, start := range []float64{283.15, 313.15} {
		_, assessments, _, err := Assess(recordedFrom(t, 6e5, start), Options{Number: 1, Program: "test"})
		require.NoError(t, err)
		// t0 is 80 s after the first reading; the minute before it, cooling by
		// 0.1 K/min since 10 s.
		known, _ := derived(decay.Characterised{}, b, p, "a", start-0.1/60*40, "")
		assert.InEpsilon(t, known.ThermalCoefficient.Value, assessments[0].Estimates["thermal_coefficient"].Value, 1e-4, "%g K", start)
	}
}

// What a test can be expected to decide rests on the same figures.
func TestExpectedTakesDerivedFigures(t *testing.T) {
	b, p := benchNine(t)
	prospect, from := Expected(b, p, b.Positions[0].Circuits[0], time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC))
	assert.Equal(t, "no characterisation of bench Bench 9", from.NotCharacterised)
	require.NotNil(t, prospect.Known.ThermalCoefficient)
	known, _ := derived(decay.Characterised{}, b, p, "a", UsualTemperature, from.NotCharacterised)
	assert.Equal(t, *known.ThermalCoefficient, *prospect.Known.ThermalCoefficient)
	b.Volumes = nil
	prospect, _ = Expected(b, p, b.Positions[0].Circuits[0], time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC))
	assert.Nil(t, prospect.Known.ThermalCoefficient)
}
