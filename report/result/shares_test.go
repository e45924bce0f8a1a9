package result

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/sensor"
)

// coupled is a bench with a thermocouple, its junction fixed, and a bridge.
const coupled = `
name = "coupled"
[[link]]
name = "bus"
port = "COM3"
baud = 19200
[[instrument]]
name = "module"
kind = "modbus-rtu"
link = "bus"
address = 1
interval = "1 s"
[[channel]]
name = "body"
quantity = "temperature"
instrument = "module"
function = 4
register = 0
type = "int16"
raw_unit = "mV"
thermocouple = "K"
cold_junction = "23 ± 0.02 °C"
range = ["-20 °C", "120 °C"]
tolerance_class = "2"
[[channel]]
name = "terminals"
quantity = "temperature"
instrument = "module"
function = 4
register = 1
type = "int16"
raw_unit = "Ω"
rtd = "Pt100"
range = ["-20 °C", "120 °C"]
tolerance_class = "B"
drift = "0.001 K/h"
[[channel]]
name = "trapped"
quantity = "pressure"
instrument = "module"
function = 4
register = 2
type = "int16"
raw_unit = "mV"
table = [["0 mV/V", "0 bar"], ["1 mV/V", "200 bar"], ["2 mV/V", "398 bar"]]
excitation = "10 ± 0.005 V"
reference = "gauge"
range = ["0 bar", "350 bar"]
`

func coupledBench(t *testing.T, edits ...string) *bench.Bench {
	text := coupled
	for i := 0; i < len(edits); i += 2 {
		require.Contains(t, text, edits[i])
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	b, err := bench.Parse("coupled.toml", []byte(text))
	require.NoError(t, err)
	return b
}

func share(t *testing.T, shares []decay.Share, source string) decay.Share {
	for _, s := range shares {
		if s.Source == source {
			return s
		}
	}
	require.Fail(t, "no share", source)
	return decay.Share{}
}

func TestSharesOfSensors(t *testing.T) {
	b := coupledBench(t)
	m := thermometer(b, "body", noReadings)
	class := share(t, m.Shares, decay.SourceToleranceClass)
	// class 2 of type K: from −2.5 K at −40 °C to +9 K at 1200 °C is the
	// steepest line that fits
	assert.InEpsilon(t, 11.5/1240/math.Sqrt(3), class.Gain, 1e-9)
	assert.Contains(t, class.Note, "IEC 60584-1 class 2 of thermocouple K")
	junction := share(t, m.Shares, decay.SourceColdJunction)
	assert.InEpsilon(t, math.Sqrt2*0.02, junction.Shift, 0.05, "the slopes at 23 and 50 °C are about the same")
	assert.Contains(t, junction.Note, "fixed at 23 °C")

	wide := coupledBench(t, `thermocouple = "K"`, `thermocouple = "S"`, `range = ["-20 °C", "120 °C"]`, `range = ["0 °C", "1600 °C"]`)
	junction = share(t, thermometer(wide, "body", noReadings).Shares, decay.SourceColdJunction)
	assert.InEpsilon(t, math.Sqrt2*0.02, junction.Shift, 0.05, "the liquid is cold, whatever the range reaches to")

	x := transducer(b, "trapped", 100e5)
	fed := share(t, x.Shares, decay.SourceExcitation)
	assert.InEpsilon(t, 5e-4, fed.Gain, 1e-9)
	assert.InEpsilon(t, math.Sqrt2*5e-4*100e5, fed.Shift, 1e-9)
	assert.InEpsilon(t, (200.0-198)/2/198/math.Sqrt(3), share(t, x.Shares, decay.SourceInterpolation).Gain, 1e-9)

	moved := series.Column{Name: "terminals", Time: []float64{0, 100, 200}, Value: []float64{296, 297, 298}}
	b = coupledBench(t, `"23 ± 0.02 °C"`, `"terminals"`)
	junction = share(t, thermometer(b, "body", func(string) series.Column { return moved }).Shares, decay.SourceColdJunction)
	assert.Zero(t, junction.Shift)
	assert.Equal(t, moved, junction.Beside)
	assert.InEpsilon(t, 0.001/3600, junction.Drift, 0.05)
	pt, _ := sensor.ClassOf("Pt100", "B")
	assert.InEpsilon(t, pt.Slope()/math.Sqrt(3), junction.BesideGain, 0.05)

	b = coupledBench(t, `tolerance_class = "2"`, "tolerance_class = \"2\"\n[channel.calibration]\ncertificate = \"C\"\ndate = 2026-01-01\ndue = 2027-01-01\nuncertainty = \"0.1 K\"\npoints = [[\"0 °C\", \"0.1 °C\"], [\"50 °C\", \"50.2 °C\"]]")
	class = share(t, thermometer(b, "body", noReadings).Shares, decay.SourceToleranceClass)
	assert.InEpsilon(t, math.Sqrt2*0.1/50, class.Gain, 1e-9, "the certificate is about this very one")
	assert.Contains(t, class.Note, "certificate C in its place")

	b = coupledBench(t, `tolerance_class = "2"`, "tolerance_class = \"2\"\n[channel.calibration]\ncertificate = \"C\"\ndate = 2026-01-01\ndue = 2027-01-01\nuncertainty = \"0.1 K\"\npoints = [[\"0 °C\", \"0.1 °C\"]]")
	class = share(t, thermometer(b, "body", noReadings).Shares, decay.SourceToleranceClass)
	assert.InEpsilon(t, 11.5/1240/math.Sqrt(3), class.Gain, 1e-9, "one point says nothing of the slope")

	b = coupledBench(t, `"23 ± 0.02 °C"`, `"terminals"`, `drift = "0.001 K/h"`, `resolution = "0.1 K"`)
	junction = share(t, thermometer(b, "body", noReadings).Shares, decay.SourceColdJunction)
	assert.InEpsilon(t, 0.1/math.Sqrt(6), junction.Shift, 0.05, "a step of the junction is a step of the thermocouple")
}

// What is taken off an absolute transducer's pressure is as uncertain as the
// ambient pressure is.
func TestAmbientPressureIsPartOfAnAbsoluteZero(t *testing.T) {
	absolute := []string{`reference = "gauge"`, "reference = \"absolute\"\naccuracy = \"0.1 bar\"", `name = "coupled"`, `name = "coupled"`}
	own := 0.1e5 / math.Sqrt(3)
	assert.InEpsilon(t, math.Hypot(own, 3000), transducer(coupledBench(t, absolute...), "trapped", 0).Offset, 1e-9, "the usual one")

	typed := coupledBench(t, append(absolute, "[[link]]", "[ambient]\npressure = \"1005 ± 2 mbar\"\n[[link]]")...)
	assert.InEpsilon(t, math.Hypot(own, 200), transducer(typed, "trapped", 0).Offset, 1e-9)

	air := "[ambient]\nchannel = \"air\"\n[[channel]]\nname = \"air\"\nquantity = \"pressure\"\ninstrument = \"module\"\nfunction = 4\nregister = 9\ntype = \"int16\"\nraw_unit = \"mbar\"\nreference = \"absolute\"\naccuracy = \"1 mbar\"\n[[link]]"
	measured := coupledBench(t, append(absolute, "[[link]]", air)...)
	assert.InEpsilon(t, math.Hypot(own, 100/math.Sqrt(3)), transducer(measured, "trapped", 0).Offset, 1e-9)

	assert.Zero(t, transducer(coupledBench(t), "trapped", 0).Offset, "a gauge transducer has nothing taken off")
}

// A thermocouple with any straight deviation that its class allows, each slope
// as likely, whose fixed cold junction moves in the hold between two places
// that its uncertainty allows, read through the program's own conversion: the
// decay rates scatter by the stated standard uncertainty.
//
// Source: JCGM 101:2008, clause 7 (mark M); the figures are our own.
func TestSharesAgainstManyThermocouples(t *testing.T) {
	b := coupledBench(t)
	const (
		trials       = 200
		start, end   = 60.0, 360.0
		coefficient  = 5e5 // Pa/K
		leak, cold   = 400.0, 296.15
		junctionU    = 0.02
		warms        = 4e-3 // K/s
		little       = 20.0 // Pa of noise
		zeroCelsius  = 273.15
		fromAmbience = 295.0
	)
	couple, _ := sensor.NewThermocouple("K")
	class, _ := sensor.ClassOf("K", "2")
	random := rand.New(rand.NewPCG(60584, 1))
	var seen, said float64
	for range trials {
		convert, err := b.Converter()
		require.NoError(t, err)
		slope := class.Slope() * (2*random.Float64() - 1)
		from, to := junctionU*random.NormFloat64(), junctionU*random.NormFloat64()
		truth := func(at float64) float64 { return fromAmbience + warms*(at-start) }
		in := decay.Input{
			Start: start, End: end, Locked: 0, TestPressure: 100e5,
			Transducer:  decay.Transducer{Low: math.NaN(), High: math.NaN()},
			Thermometer: thermometer(b, "body", noReadings),
			Known: decay.Characterised{
				ThermalCoefficient: &uncertainty.Estimate{Value: coefficient, DegreesOfFreedom: math.Inf(1)},
				Lag:                &uncertainty.Estimate{DegreesOfFreedom: math.Inf(1)},
			},
		}
		dst, src := make([]daq.Reading, 3), make([]daq.Signal, 3)
		for at := 0.0; at <= end; at++ {
			real := truth(at)
			junction := cold + from + (to-from)*(at-start)/(end-start)
			src[0].Raw = 1000 * (couple.EMF(real+slope*(real-zeroCelsius)) - couple.EMF(junction))
			src[1].Raw, src[2].Raw = 100, 1
			convert.Convert("module", time.Duration(at*float64(time.Second)), dst, src)
			require.Equal(t, daq.Healthy, dst[0].Health)
			in.Temperature.Time, in.Temperature.Value = append(in.Temperature.Time, at), append(in.Temperature.Value, dst[0].Value)
			p := 100e5 - leak*(at-start) + coefficient*(real-truth(start)) + little*random.NormFloat64()
			in.Pressure.Time, in.Pressure.Value = append(in.Pressure.Time, at), append(in.Pressure.Value, p)
		}
		e := decay.Fit(in, decay.Options{}).Estimates["decay_rate"]
		require.Empty(t, e.Absent)
		seen += (e.Value - leak) * (e.Value - leak) / trials
		said += e.StdUncertainty * e.StdUncertainty / trials
	}
	ratio := math.Sqrt(said / seen)
	t.Logf("seen %.3g Pa/s, said %.3g Pa/s, ratio %.3f", math.Sqrt(seen), math.Sqrt(said), ratio)
	assert.InDelta(t, 1, ratio, 4/math.Sqrt(2*trials))
}
