package report

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq/bench"
	"holdbench/report/result"
)

func ptr(x float64) *float64 { return &x }

// The example's test, s: filled, pressed up, locked, stabilised, held.
const (
	exampleStart = 180.0
	exampleEnd   = 480.0
)

// exampleFacts is a good unit on a cooling bench, all of it invented: the raw
// pressure falls by 1.2 bar, the compensated one hardly.
func exampleFacts() Facts {
	f := Facts{
		Result:     exampleResult(),
		Display:    si.DefaultDisplay,
		ReportFile: "HV1-2026-00417_2026-11-25_019a.pdf",
		Phases: []Phase{
			{"", "fill", 0, 20}, {"", "pressurise", 20, 50}, {"", "lock", 50, 55}, {"", "vent feed", 55, 65},
			{"", "stabilise", 65, exampleStart}, {"", "hold", exampleStart, exampleEnd}, {"", "release", exampleEnd, 505},
		},
	}
	f.Recorded = []Recorded{exampleRecording("a", 1)}
	f.Assessments = []analysis.Assessment{exampleAssessment(f.Recorded[0])}
	f.Channels = exampleChannels()
	f.Files = []File{
		NewFile("datapackage.json", []byte(`{"profile": "tabular-data-package"}`)),
		NewFile("readings.csv", exampleCSV(f.Recorded[0])),
		NewFile("events.csv", []byte("time [s],kind\n0,phase\n")),
		NewFile("result.json", []byte(`{"format": "holdbench-result"}`)),
	}
	f.ResultHash = f.Files[3].Hash
	return f
}

// exampleCSV is the example's readings as a file of some size.
func exampleCSV(r Recorded) []byte {
	var b bytes.Buffer
	b.WriteString("time [s],trapped a [Pa],feed [Pa]\r\n")
	for i, t := range r.Trapped.Time {
		fmt.Fprintf(&b, "%g,%g,%g\r\n", t, r.Trapped.Value[i], r.Feed.Value[i])
	}
	return b.Bytes()
}

// exampleChannels are the invented bench's.
func exampleChannels() []bench.Channel {
	day := func(s string) time.Time {
		t, err := time.Parse("2006-01-02", s)
		if err != nil {
			panic(err)
		}
		return t
	}
	return []bench.Channel{
		{
			Name: "trapped a", Quantity: si.Pressure, RawUnit: "mA", RawQuantity: si.Current,
			Scaling:  &bench.Scaling{SignalLow: 0.004, SignalHigh: 0.020, ValueLow: -1e5, ValueHigh: 160e5},
			Accuracy: 0.16e5, GainU: 0.0005, DriftU: 500.0 / 3600, Resolution: 1000,
			Calibration: &bench.Calibration{
				Certificate: "K-2026-118", Date: day("2026-02-11"), Due: day("2027-02-11"), U: 3000,
				Points: []bench.CalibrationPoint{{Reference: 0, Indicated: 0.01e5}, {Reference: 80e5, Indicated: 80.03e5}, {Reference: 160e5, Indicated: 159.96e5}},
			},
		},
		{Name: "feed", Quantity: si.Pressure, RawUnit: "bar", RawQuantity: si.Pressure, Absolute: true, Accuracy: 0.5e5},
		{
			Name: "body temperature", Quantity: si.Temperature, RawUnit: "°C", RawQuantity: si.Temperature, Accuracy: 0.1, Resolution: 0.01,
			Calibration: &bench.Calibration{
				Certificate: "T-2026-041", U: 0.02,
				Points: []bench.CalibrationPoint{{Reference: 273.15, Indicated: 273.18}, {Reference: 323.15, Indicated: 323.11}},
			},
		},
		{Name: "elsewhere", Quantity: si.Temperature},
	}
}

// exampleRecording invents a recording at 10 Hz, temperatures at 2 Hz.
func exampleRecording(circuit string, seed uint64) Recorded {
	random := rand.New(rand.NewPCG(seed, 2))
	r := Recorded{Circuit: circuit}
	for i := 0; i <= 5100; i++ {
		t := float64(i) / 10
		p, feed := examplePressures(t)
		r.Trapped.Time = append(r.Trapped.Time, t)
		r.Trapped.Value = append(r.Trapped.Value, p+900*random.NormFloat64())
		r.Feed.Time = append(r.Feed.Time, t)
		r.Feed.Value = append(r.Feed.Value, feed+2000*random.NormFloat64())
		if i%5 == 0 {
			r.Temperature.Time = append(r.Temperature.Time, t)
			r.Temperature.Value = append(r.Temperature.Value, exampleTemperature(t)+0.02*random.NormFloat64())
		}
	}
	r.Trapped.Quantity, r.Feed.Quantity, r.Temperature.Quantity = si.Pressure, si.Pressure, si.Temperature
	return r
}

func exampleTemperature(t float64) float64 {
	return 294.9 + 0.9*math.Exp(-math.Max(t-50, 0)/60)*math.Min(1, math.Max(0, t-20)/30) - 0.0008*t
}

func examplePressures(t float64) (trapped, feed float64) {
	switch {
	case t < 20:
		return 2e5, 2e5
	case t < 50:
		p := 2e5 + 98e5*(t-20)/30
		return p, p
	case t < 55:
		return 100e5, 100e5
	case t < 500:
		feed = math.Max(0, 100e5*math.Exp(-(t-55)/1.5))
		if t > exampleEnd {
			return 100e5 * math.Exp(-(t-exampleEnd)/3), 0
		}
		return 100e5 + 4.5e5*(exampleTemperature(t)-exampleTemperature(55)) - 120*(t-55), feed
	}
	return 0, 0
}

// exampleAssessment has the curves of the example's hold.
func exampleAssessment(r Recorded) analysis.Assessment {
	a := analysis.Assessment{
		Circuit: r.Circuit, Verdict: verdict.Pass, Valid: true, Completed: true,
		Start: exampleStart, End: exampleEnd,
	}
	part := r.Trapped.Window(exampleStart, exampleEnd)
	curves := decay.Curves{Time: part.Time, Measured: part.Value}
	p0, _ := examplePressures(exampleStart)
	for i, t := range part.Time {
		temperature := exampleTemperature(t)
		curves.LiquidTemperature = append(curves.LiquidTemperature, temperature)
		curves.LiquidTemperatureU = append(curves.LiquidTemperatureU, 0.012)
		curves.Compensated = append(curves.Compensated, part.Value[i]-4.5e5*(temperature-exampleTemperature(exampleStart)))
		curves.Fitted = append(curves.Fitted, p0-120*(t-exampleStart))
	}
	a.Curves = curves
	return a
}

func exampleResult() *result.Result {
	started := time.Date(2026, 11, 25, 14, 3, 9, 0, time.FixedZone("", 3600))
	estimate := func(value, u, dof float64, unit string) result.Estimate {
		return result.Estimate{Value: ptr(value), Unit: unit, U: ptr(u), DOF: ptr(dof)}
	}
	rate := estimate(120, 22, 140, "Pa/s")
	rate.Budget = []result.BudgetLine{
		{Source: "thermal coefficient", U: 17.1, Note: "characterised"},
		{Source: "noise", U: 11.3, DOF: ptr(41)},
		{Source: "temperature reading", U: 7.6, DOF: ptr(60)},
		{Source: "transducer drift", U: 2.1},
		{Source: "transducer gain", U: 0.3},
		{Source: "resolution", U: 0.1},
	}
	absent := func(reason string) result.Estimate { return result.Estimate{Reason: reason} }
	test := result.Test{
		Kind: "hold", Window: [2]*float64{ptr(exampleStart), ptr(exampleEnd)}, Valid: true, Completed: true, Verdict: "PASS",
		Estimates: map[string]result.Estimate{
			"decay_rate": rate, "drop": estimate(36000, 6600, 140, "Pa"),
			"settling":                   absent("no settling characterised for this circuit"),
			"leak_rate":                  absent("leak and settling cannot be parted: settling is not characterised"),
			"leak_rate_at_test_pressure": absent("no leak law fitted"),
			"leak_flow":                  absent("leak rate not given"),
			"pressure_end":               estimate(98.82e5, 7000, 300, "Pa"),
			"pressure_after":             absent("no limit states a time"),
			"time_constant":              absent("no exponential law fitted"),
			"thermal_coefficient":        {Value: ptr(4.5e5), Unit: "Pa/K", U: ptr(0.2e5)},
			"stiffness":                  {Value: ptr(8.4e10), Unit: "Pa/m³", U: ptr(0.3e10)},
		},
		Limits: []result.Limit{{
			Quantity: "decay_rate", Bound: "max", Value: 0.5e5 / 60, Unit: "Pa/s", Rule: "guarded", RiskPass: 0.05, RiskFail: 0.05,
			Source: "invented for the demo", Written: "0.5 bar/min", DecidedBy: ptr(156.4), Verdict: "PASS",
		}},
		Diagnostics: result.Diagnostics{
			Readings: 3000, Noise: ptr(900), RawRate: ptr(392), TemperatureChange: ptr(-0.27), TemperatureU: ptr(0.017),
		},
	}
	return &result.Result{
		Format: result.Format, Version: result.Version, Verdict: "PASS", Completed: true,
		SerialNumber: "HV1-2026-00417", Model: "HV-1 slewing brake holding valve", RunID: "019abc12-7f3e-7cc4-9b1a-5d4c3b2a1f00",
		Operator: "M. Österlund", Position: "left", Fluid: "mineral hydraulic oil ISO VG 32",
		Started: started, Ended: started.Add(510 * time.Second), Note: "Demo data, invented",
		Bench:            result.Source{Name: "bench 2, line end", Hash: "sha256:3f9a7c1e55d20b7a9e"},
		Procedure:        result.Source{Name: "HV-1 hold, rev. 3", Hash: "sha256:a2b4c6d8e0f1123344"},
		Characterisation: result.Source{Name: "characterisation.toml", Hash: "sha256:9911aa22bb33cc44dd"},
		Circuits:         []result.Circuit{{Name: "a", Verdict: "PASS", Tests: []result.Test{test}}},
		Instruments: []result.Instrument{
			{Channel: "trapped a", Instrument: "pressure module", Circuit: "a", Role: "trapped", Range: "0 to 160 bar", Certificate: "K-2026-118", Calibrated: "2026-02-11", Due: "2027-02-11"},
			{Channel: "feed", Instrument: "pressure module", Circuit: "a", Role: "feed", Range: "0 to 250 bar", Certificate: "K-2025-907", Calibrated: "2025-09-30", Due: "2026-09-30", Overdue: true},
			{Channel: "body temperature", Instrument: "thermometer", Circuit: "a", Role: "temperature", Range: "−20 to 120 °C", Certificate: "T-2026-041", Calibrated: "2026-03-02", Due: "2027-03-02"},
			{Channel: "room temperature", Instrument: "thermometer", Role: "ambient"},
		},
		Vented: result.Vented{State: "vented"},
		Recording: result.Recording{State: "closed", Program: "0.1.0", Hashes: map[string]string{
			"readings.csv": "sha256:0011223344556677", "events.csv": "sha256:8899aabbccddeeff", "datapackage.json": "sha256:0123456789abcdef",
		}},
		Assessment: result.AssessmentInfo{Number: 1, At: started.Add(10 * time.Minute), Program: "0.1.0"},
	}
}
