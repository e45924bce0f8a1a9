package report

import (
	"strconv"
	"strings"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// pageCases are the pages that every test of the layout draws.
var pageCases = []struct {
	name  string
	facts func() Facts
}{
	{"good unit", exampleFacts},
	{"leaking unit", leakingFacts},
	{"cannot tell", unclearFacts},
	{"two circuits", twoCircuitFacts},
	{"long names", longFacts},
	{"many limits", manyLimitFacts},
	{"many reasons", manyReasonFacts},
	{"other scripts", scriptFacts},
	{"psi and fahrenheit", imperialFacts},
	{"short recording in seconds", shortFacts},
	{"nothing known", emptyFacts},
	{"another logger's file", foreignFacts},
	{"ten instruments", tenInstrumentFacts},
	{"two circuits, many limits", twoCircuitLimitFacts},
	{"exponential law", exponentialFacts},
	{"too large to carry", largeFacts},
	{"aborted, with a gap", abortedFacts},
}

func test(f Facts, circuit int) *result.Test { return &f.Result.Circuits[circuit].Tests[0] }

// leakingFacts is a leaking unit whose vent watch was overridden.
func leakingFacts() Facts {
	f := exampleFacts()
	f.Result.SerialNumber, f.Result.Verdict, f.Result.Circuits[0].Verdict = "HV1-2026-00418", "FAIL", "FAIL"
	f.Result.Reasons = []string{"decay rate above the limit"}
	f.Result.Vented = result.Vented{State: "overridden", Reason: "Transducer unplugged by the operator."}
	t := test(f, 0)
	t.Verdict, t.Reasons = "FAIL", f.Result.Reasons
	e := t.Estimates["decay_rate"]
	e.Value = ptr(1160)
	t.Estimates["decay_rate"] = e
	t.Limits[0].Verdict, t.Limits[0].DecidedBy = "FAIL", ptr(1123)
	a := &f.Assessments[0]
	a.Verdict = verdict.Fail
	for i, at := range a.Curves.Time {
		loss := 1040 * (at - exampleStart)
		a.Curves.Measured[i] -= loss
		a.Curves.Compensated[i] -= loss
		a.Curves.Fitted[i] -= loss
	}
	return f
}

// unclearFacts is a hold whose feed side was not vented: it may not be judged.
func unclearFacts() Facts {
	f := exampleFacts()
	f.Result.SerialNumber, f.Result.Verdict, f.Result.Circuits[0].Verdict = "HV2-2026-01003", "INCONCLUSIVE", "INCONCLUSIVE"
	f.Result.Reasons = []string{
		"the compensated pressure rises: decay rate −0.31 ± 0.05 bar/min is clearly negative",
		"feed side at 96.1 bar, above its threshold of 5 bar",
	}
	f.Result.Advice = []string{
		"vent the feed side and test again",
		"if the feed side was vented, check the thermal coefficient and that the probe sits tightly on the body",
	}
	f.Result.Vented = result.Vented{State: "treat as pressurised"}
	t := test(f, 0)
	t.Valid, t.Verdict = false, "INCONCLUSIVE"
	t.Reasons, t.Advice = f.Result.Reasons, f.Result.Advice
	t.Limits[0].Verdict, t.Limits[0].Reason = "INCONCLUSIVE", "the hold may not be judged"
	return f
}

func twoCircuitFacts() Facts {
	f := exampleFacts()
	second := exampleFacts()
	f.Result.Model = "HV-2"
	f.Result.Circuits = append(f.Result.Circuits, second.Result.Circuits[0])
	f.Result.Circuits[1].Name = "b"
	for _, i := range second.Result.Instruments[:3] {
		i.Circuit, i.Channel = "b", strings.Replace(i.Channel, " a", "", 1)+" b"
		f.Result.Instruments = append(f.Result.Instruments, i)
	}
	b := exampleRecording("b", 7)
	f.Recorded = append(f.Recorded, b)
	f.Assessments = append(f.Assessments, exampleAssessment(b))
	return f
}

// long is a text of n characters without a space in its first half.
func long(word string, n int) string {
	half := strings.Repeat(word, n/2/len(word)+1)[:n/2]
	return half + strings.Repeat(" "+word, n/2/(len(word)+1)+1)[:n-n/2]
}

func longFacts() Facts {
	f := exampleFacts()
	r := f.Result
	for _, field := range []*string{&r.SerialNumber, &r.Model, &r.Operator, &r.Position, &r.Fluid, &r.RunID, &r.Bench.Name, &r.Procedure.Name, &r.Characterisation.Name, &r.Note, &f.ReportFile} {
		*field = long("Wheelhouse", 200)
	}
	for i := range r.Instruments {
		in := &r.Instruments[i]
		for _, field := range []*string{&in.Channel, &in.Instrument, &in.Range, &in.Certificate, &in.Role} {
			*field = long("Transducer", 90)
		}
	}
	test(f, 0).Limits[0].Source = long("Works", 200)
	for i := range f.Phases {
		f.Phases[i].Name += long("phase", 80)
	}
	r.Recording.Hashes[long("file", 120)] = "sha256:ffff"
	return f
}

func manyLimitFacts() Facts {
	f := exampleFacts()
	t := test(f, 0)
	first := t.Limits[0]
	values := map[string]float64{"drop": 1e5, "settling": 0.4e5, "leak_flow": 2e-9, "pressure_end": 94.5e5}
	t.Limits = nil
	for i := range 12 {
		l := first
		l.Quantity = verdict.Quantities[i%7].Name
		if v, ok := values[l.Quantity]; ok {
			l.Value, l.DecidedBy = v, nil
			l.Verdict, l.Reason = "INCONCLUSIVE", "no estimate of "+l.Quantity
		}
		if i == 7 {
			l.Quantity, l.Bound, l.Value, l.After = "pressure_after", "min", 94.5e5, ptr(600)
		}
		t.Limits = append(t.Limits, l)
	}
	return f
}

func manyReasonFacts() Facts {
	f := unclearFacts()
	for i := range 60 {
		f.Result.Reasons = append(f.Result.Reasons, "reason number "+strconv.Itoa(i)+": "+long("pressure", 150))
		f.Result.Advice = append(f.Result.Advice, "advice number "+strconv.Itoa(i))
	}
	return f
}

func scriptFacts() Facts {
	f := exampleFacts()
	f.Result.SerialNumber = "ΣΕΙΡΑ-Ж-0042"
	f.Result.Operator = "Γιώργος Παπαδόπουλος"
	f.Result.Model = "Клапан удержания ХВ-1"
	f.Result.Position = "左 left\u200b"
	f.Result.Bench.Name = "Prüfstand Ørsted, Łódź"
	f.Result.Reasons = []string{"Ο αισθητήρας μετρά 5 µV, ± 2 %, 21 °C"}
	return f
}

func imperialFacts() Facts {
	f := exampleFacts()
	d, err := si.ParseDisplay("psi", "°F")
	if err != nil {
		panic(err)
	}
	f.Display = d
	return f
}

// shortFacts has a recording of 40 s and a hold of 20 s with a gap in it.
func shortFacts() Facts {
	f := exampleFacts()
	r := &f.Recorded[0]
	r.Trapped = r.Trapped.Window(180, 220)
	r.Feed = r.Feed.Window(180, 220)
	r.Temperature = r.Temperature.Window(180, 220)
	f.Phases = []Phase{{"a", "stabilise", 180, 195}, {"a", "hold", 195, 215}}
	a := exampleAssessment(*r)
	a.Start, a.End = 195, 215
	n := len(a.Curves.Time)
	a.Curves.Time, a.Curves.Measured = a.Curves.Time[n-250:n-50], a.Curves.Measured[n-250:n-50]
	a.Curves.Compensated, a.Curves.Fitted = a.Curves.Compensated[n-250:n-50], a.Curves.Fitted[n-250:n-50]
	a.Curves.LiquidTemperature, a.Curves.LiquidTemperatureU = nil, nil
	f.Assessments = []analysis.Assessment{a}
	return f
}

func emptyFacts() Facts {
	return Facts{Result: &result.Result{}, Display: si.DefaultDisplay}
}

// foreignFacts come from a file that names neither bench nor procedure nor
// operator.
func foreignFacts() Facts {
	f := exampleFacts()
	r := f.Result
	r.Model, r.Operator, r.Position, r.Fluid, r.RunID, r.Note = "", "", "", "", "", ""
	r.Bench, r.Procedure, r.Characterisation = result.Source{}, result.Source{}, result.Source{}
	r.Instruments, r.Started, r.Ended = nil, time.Time{}, time.Time{}
	r.Vented = result.Vented{State: "treat as pressurised", Reason: "a file cannot show that the unit is vented"}
	r.Recording = result.Recording{State: result.StateFile, Hashes: map[string]string{"logger 7.csv": "sha256:0011223344556677"}}
	r.Notes = []string{"stamps of one second were spread evenly: -0.05 s to 0.95 s"}
	f.Phases, f.Channels, f.Files = nil, nil, nil
	f.HoldFound = "found from the pressure: peak 100.4 bar at 50 s, feed let down at 55 s"
	return f
}

func tenInstrumentFacts() Facts {
	f := twoCircuitFacts()
	first := f.Channels[0]
	for i := len(f.Result.Instruments); i < 10; i++ {
		name := "spare transducer " + strconv.Itoa(i)
		f.Result.Instruments = append(f.Result.Instruments, result.Instrument{
			Channel: name, Instrument: "pressure module", Circuit: "b", Role: "ambient pressure", Range: "-1…250 bar", Certificate: "K-2026-" + strconv.Itoa(200+i), Calibrated: "2026-02-11", Due: "2027-02-11",
		})
		first.Name = name
		f.Channels = append(f.Channels, first)
	}
	return f
}

func twoCircuitLimitFacts() Facts {
	f := twoCircuitFacts()
	limits := manyLimitFacts().Result.Circuits[0].Tests[0].Limits[:6]
	for i := range f.Result.Circuits {
		test(f, i).Limits = limits
	}
	f.Result.SerialNumber = long("ΣΕΙΡΑ-0042-", 60)
	return f
}

// exponentialFacts have a time constant of 13.5 h.
func exponentialFacts() Facts {
	f := exampleFacts()
	t := test(f, 0)
	t.Diagnostics.Law, t.Diagnostics.LawReason = "exponential", "exponential towards 0.00 bar; its AICc is smaller by 12.4 than that of a straight line"
	t.Estimates["time_constant"] = result.Estimate{Value: ptr(48600), U: ptr(900), DOF: ptr(140), Unit: "s"}
	return f
}

// largeFacts have readings that are known by their hash alone.
func largeFacts() Facts {
	f := twoCircuitFacts()
	f.Files[1].Content, f.Files[1].Size = nil, 260_000_000
	return f
}
