package procedure_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/procedure"
	"holdbench/daq/strict"
)

// small is a procedure file in which each row below breaks something. The
// number before each line is its line in the file.
var small = unnumber(`
1  name = "small"
2  model = "HV-1"
3  serial_pattern = "HV1-[0-9]{5}"
4  fluid = "oil"
5  circuits = ["a"]
6  source = "invented"
7  test_pressure = "100 bar"
8  start_window = ["95 bar", "105 bar"]
9  maximum_pressure = "130 bar"
10 safe_pressure = "2 bar"
11 feed_below = "3 bar"
12 unresolvable = "warn"
13 [phase.fill]
14 end = "operator"
15 [phase.stabilise]
16 duration = "60 s"
17 [phase.hold]
18 duration = "5 min"
19 [phase.release]
20 end = "operator"
21 timeout = "10 min"
22 [[limit]]
23 quantity = "decay_rate"
24 max = "0.5 bar/min"
25 [[limit]]
26 quantity = "pressure_after"
27 min = "90 bar"
28 after = "10 min"
29 rule = "simple"
30 u_max = "0.5 bar"
`)

// unnumber takes the line numbers away.
func unnumber(text string) string {
	var out strings.Builder
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		_, rest, _ := strings.Cut(line, " ")
		out.WriteString(strings.TrimSpace(rest) + "\n")
	}
	return out.String()
}

// broken is text with some pieces replaced, each standing there once.
func broken(t *testing.T, text string, edits ...string) string {
	t.Helper()
	for i := 0; i < len(edits); i += 2 {
		require.Equal(t, 1, strings.Count(text, edits[i]), "%q does not stand in the file once", edits[i])
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	return text
}

func lines(err error) []string {
	if err == nil {
		return nil
	}
	return strings.Split(err.Error(), "\n")
}

func TestEachFaultOfAProcedureFile(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"as it should be", nil, nil},
		{"no TOML", []string{`fluid = "oil"`, `fluid = oil`}, []string{
			`p.toml:4: found "fluid = oil", want a value after "=": a number, true or false, a date, or a text in quotes`}},
		{"missing", []string{`name = "small"`, ``, `model = "HV-1"`, ``, `fluid = "oil"`, ``, `circuits = ["a"]`, ``}, []string{
			`p.toml:1: name: found nothing, want a text in quotes, on one line`,
			`p.toml:1: model: found nothing, want a text in quotes, on one line`,
			`p.toml:1: fluid: found nothing, want a text in quotes, on one line`,
			`p.toml:1: circuits: found nothing, want the circuits to test, e.g. ["a"] or ["a", "b"]`}},
		{"mistyped key", []string{`feed_below`, `feed_bellow`}, []string{
			`p.toml:1: feed_below: found nothing, want a pressure with unit, above zero, e.g. "100 bar"`,
			`p.toml:11: feed_bellow: found an unknown key, want "feed_below"?`}},
		{"pattern", []string{`"HV1-[0-9]{5}"`, `"HV1-[0-9{5}"`}, []string{
			"p.toml:3: serial_pattern: found \"HV1-[0-9{5}\", want a regular expression, e.g. \"HV1-[0-9]{5}\" (missing closing ]: `[0-9{5}`)"}},
		{"circuits", []string{`circuits = ["a"]`, `circuits = ["a", "c", "a"]`}, []string{
			`p.toml:5: circuits: item 2: found "c", want "a" or "b"`,
			`p.toml:5: circuits: item 3: found "a" a second time, want each circuit once`}},
		{"no circuit", []string{`circuits = ["a"]`, `circuits = []`}, []string{
			`p.toml:5: circuits: found an empty list, want the circuits to test, e.g. ["a"] or ["a", "b"]`}},
		{"unresolvable", []string{`"warn"`, `"stop"`}, []string{
			`p.toml:12: unresolvable: found "stop", want "warn" or "refuse"`}},
		{"temperature swing", []string{`unresolvable = "warn"`, `temperature_swing = "0.2 bar"`}, []string{
			`p.toml:12: temperature_swing: found "0.2 bar", a pressure, want a temperature difference in K, mK, °C, °F, e.g. "0.5 K"`}},
		{"temperature swing of nothing", []string{`unresolvable = "warn"`, `temperature_swing = "0 K"`}, []string{
			`p.toml:12: temperature_swing: found "0 K", want a temperature difference with unit, above zero, e.g. "0.5 K"`}},

		{"lost instrument", []string{`unresolvable = "warn"`, "on_lost_instrument = \"stop\"\nlost_after = \"10 s\""}, []string{
			`p.toml:12: on_lost_instrument: found "stop", want "continue" or "abort"`,
			`p.toml:13: lost_after: found "10 s", want no such key here (only beside on_lost_instrument = "abort")`}},
		{"lost too soon", []string{`unresolvable = "warn"`, "on_lost_instrument = \"abort\"\nlost_after = \"10 ms\""}, []string{
			`p.toml:13: lost_after: found "10 ms", want a time with unit, from "1 s" to "1 h"`}},
		{"challenge", []string{`unresolvable = "warn"`, "challenge_every = \"8 hours a day\"\nunchallenged = \"stop\""}, []string{
			`p.toml:12: challenge_every: found "8 hours a day", want a time with unit, from "1 min" to "31 d", or "shift" for 8 h`,
			`p.toml:13: unchallenged: found "stop", want "warn" or "refuse"`}},
		{"challenge too seldom", []string{`unresolvable = "warn"`, `challenge_every = "40 d"`}, []string{
			`p.toml:12: challenge_every: found "40 d", want a time with unit, from "1 min" to "31 d", or "shift" for 8 h`}},
		{"unchallenged without challenge", []string{`unresolvable = "warn"`, `unchallenged = "refuse"`}, []string{
			`p.toml:12: unchallenged: found "refuse", want no such key here (only beside challenge_every)`}},
		{"bar left out", []string{`test_pressure = "100 bar"`, `test_pressure = 100`}, []string{
			`p.toml:7: test_pressure: found 100, want a pressure with unit, e.g. "100 bar"`}},
		{"window without test pressure", []string{`["95 bar", "105 bar"]`, `["101 bar", "105 bar"]`}, []string{
			`p.toml:8: start_window: found a window without test_pressure in it, want one around "100 bar"`}},
		{"window from nothing", []string{`["95 bar", "105 bar"]`, `["0 bar", "105 bar"]`}, []string{
			`p.toml:8: start_window: found a window that begins at no pressure, want a lower end above zero`}},
		{"no window", []string{`start_window = ["95 bar", "105 bar"]`, ``}, []string{
			`p.toml:1: start_window: found nothing, want the pressures between which a hold may begin, e.g. start_window = ["95 bar", "105 bar"], or tolerance = "5 bar"`}},
		{"window twice", []string{`start_window = ["95 bar", "105 bar"]`, "start_window = [\"95 bar\", \"105 bar\"]\ntolerance = \"5 bar\""}, []string{
			`p.toml:9: tolerance: found "5 bar", want no such key here (start_window says it already)`}},
		{"tolerance too large", []string{`start_window = ["95 bar", "105 bar"]`, `tolerance = "100 bar"`, `"130 bar"`, `"300 bar"`}, []string{
			`p.toml:8: tolerance: found "100 bar", want less than test_pressure`}},
		{"maximum below test pressure", []string{`"130 bar"`, `"100 bar"`}, []string{
			`p.toml:9: maximum_pressure: found "100 bar", want a pressure above test_pressure`}},
		{"maximum inside the window", []string{`"130 bar"`, `"104 bar"`}, []string{
			`p.toml:9: maximum_pressure: found "104 bar", want a pressure above the upper end of the start window`}},
		{"maximum impossible", []string{`"130 bar"`, `"13000 bar"`}, []string{
			`p.toml:9: maximum_pressure: found "13000 bar", want at most 10000 bar`}},
		{"safe too high", []string{`safe_pressure = "2 bar"`, `safe_pressure = "20 bar"`}, []string{
			`p.toml:10: safe_pressure: found "20 bar", want at most 10 bar and at most a fifth of the start window's lower end`}},
		{"safe nothing", []string{`safe_pressure = "2 bar"`, `safe_pressure = "0 bar"`}, []string{
			`p.toml:10: safe_pressure: found "0 bar", want a pressure with unit, above zero, e.g. "100 bar"`}},
		{"feed too high", []string{`feed_below = "3 bar"`, `feed_below = "60 bar"`}, []string{
			`p.toml:11: feed_below: found "60 bar", want at most half of the start window's lower end`}},

		{"no phases", []string{"[phase.fill]\nend = \"operator\"\n[phase.stabilise]\nduration = \"60 s\"\n[phase.hold]\nduration = \"5 min\"\n[phase.release]\nend = \"operator\"\ntimeout = \"10 min\"\n", ""}, []string{
			`p.toml:1: phase: found nothing, want a table [phase]`}},
		{"unknown phase", []string{`[phase.fill]`, `[phase.soak]`}, []string{
			`p.toml:13: phase: soak: found an unknown key, want one of fill, hold, lock, pressurise, release, stabilise, vent_feed`}},
		{"mistyped phase", []string{`[phase.fill]`, `[phase."vent feed"]`}, []string{
			`p.toml:13: phase: vent feed: found an unknown key, want "vent_feed"?`}},
		{"no hold", []string{"[phase.hold]\nduration = \"5 min\"\n", ""}, []string{
			`p.toml:13: phase: hold: found nothing, want a table [phase.hold]`}},
		{"hold without duration", []string{"duration = \"5 min\"", ""}, []string{
			`p.toml:17: phase: hold: duration: found nothing, want a time with unit, from "1 s" to "31 d"`}},
		{"hold of nothing", []string{"\"5 min\"", "\"0 s\""}, []string{
			`p.toml:18: phase: hold: duration: found "0 s", want a time with unit, from "1 s" to "31 d"`}},
		{"hold by the operator", []string{"duration = \"5 min\"", "duration = \"5 min\"\nend = \"operator\"\ntimeout = \"1 min\""}, []string{
			`p.toml:19: phase: hold: end: found "operator", want no such key here (a hold has a duration)`,
			`p.toml:20: phase: hold: timeout: found "1 min", want no such key here (only beside end = "operator")`}},
		{"release by time", []string{"[phase.release]\nend = \"operator\"", "[phase.release]\nduration = \"1 min\""}, []string{
			`p.toml:19: phase: release: end: found nothing, want "operator"`,
			`p.toml:20: phase: release: duration: found "1 min", want no such key here (only a person can say that the pressure is released)`,
			`p.toml:21: phase: release: timeout: found "10 min", want no such key here (only beside end = "operator")`}},
		{"end of another kind", []string{"[phase.fill]\nend = \"operator\"", "[phase.fill]\nend = \"time\""}, []string{
			`p.toml:14: phase: fill: end: found "time", want "operator"`}},
		{"both ends", []string{"[phase.fill]\nend = \"operator\"", "[phase.fill]\nend = \"operator\"\nduration = \"1 min\""}, []string{
			`p.toml:15: phase: fill: duration: found "1 min", want no such key here (the phase ends with the operator's Enter)`}},
		{"no end", []string{"[phase.fill]\nend = \"operator\"", "[phase.fill]\nprompt = \"Fill.\""}, []string{
			`p.toml:13: phase: fill: found no end, want end = "operator" or a duration, e.g. duration = "60 s"`}},
		{"timeout beside a duration", []string{"duration = \"60 s\"", "duration = \"60 s\"\ntimeout = \"2 min\""}, []string{
			`p.toml:17: phase: stabilise: timeout: found "2 min", want no such key here (only beside end = "operator")`}},
		{"duration without unit", []string{"duration = \"60 s\"", "duration = 60"}, []string{
			`p.toml:16: phase: stabilise: duration: found 60, want a time with unit, from "0 s" to "31 d"`}},
		{"empty prompt", []string{"[phase.fill]\nend = \"operator\"", "[phase.fill]\nend = \"operator\"\nprompt = \"\""}, []string{
			`p.toml:15: phase: fill: prompt: found "", want a text in quotes, on one line`}},

		{"extended to less", []string{"duration = \"5 min\"", "duration = \"5 min\"\nextend_to = \"5 min\""}, []string{
			`p.toml:19: phase: hold: extend_to: found "5 min", want a time longer than the hold's duration`}},
		{"another phase extended", []string{"duration = \"60 s\"", "duration = \"60 s\"\nextend_to = \"5 min\""}, []string{
			`p.toml:17: phase: stabilise: extend_to: found "5 min", want no such key here (only a hold goes on by itself)`}},
		{"whole hold's limit of an extended one", []string{"duration = \"5 min\"", "duration = \"5 min\"\nextend_to = \"9 min\"", "quantity = \"decay_rate\"\nmax = \"0.5 bar/min\"", "quantity = \"drop\"\nmax = \"2 bar\""}, []string{
			`p.toml:24: limit 1: quantity: found "drop", want no drop beside extend_to: it belongs to a hold of one length`}},
		{"no spending", []string{"[phase.fill]", "[early_decision]\nspending = \"even\"\n[phase.fill]"}, []string{
			`p.toml:14: early_decision: spending: found "even", want "pocock-like" or "obrien-fleming-like"`}},
		{"one look", []string{"[phase.fill]", "[early_decision]\nlooks = 1\n[phase.fill]"}, []string{
			`p.toml:14: early_decision: looks: found 1, want a whole number from 2 to 50`}},
		{"looks too close", []string{"[phase.fill]", "[early_decision]\nlooks = 50\nfirst_look = \"290 s\"\n[phase.fill]"}, []string{
			`p.toml:14: early_decision: looks: found 50 looks, want fewer looks: at least a second between two`}},
		{"first look after the hold", []string{"[phase.fill]", "[early_decision]\nfirst_look = \"6 min\"\n[phase.fill]"}, []string{
			`p.toml:14: early_decision: first_look: found "6 min", want a time before the end of the longest hold`}},
		{"looks in disorder", []string{"[phase.fill]", "[early_decision]\nlooks = [\"2 min\", \"1 min\", \"6 min\", 7]\nfirst_look = \"30 s\"\n[phase.fill]"}, []string{
			`p.toml:14: early_decision: looks: item 2: found "1 min", want times that increase, at least a second apart`,
			`p.toml:14: early_decision: looks: item 3: found "6 min", want a time within the longest hold`,
			`p.toml:14: early_decision: looks: item 4: found 7, want a time with unit, from "1 s" to "31 d"`,
			`p.toml:15: early_decision: first_look: found "30 s", want no such key here (looks says it already)`}},
		{"mistyped early decision", []string{"[phase.fill]", "[early_decision]\nlook = 3\n[phase.fill]"}, []string{
			`p.toml:14: early_decision: look: found an unknown key, want "looks"?`}},

		{"unknown quantity", []string{`"decay_rate"`, `"decay"`}, []string{
			`p.toml:23: limit 1: quantity: found "decay", want "drop" or "decay_rate" or "settling" or "leak_rate" or "leak_rate_at_test_pressure" or "leak_flow" or "pressure_end" or "pressure_after" or "time_constant" or "other_circuit_rise"`}},
		{"a quantity of the bench", []string{`"decay_rate"`, `"stiffness"`}, []string{
			`p.toml:23: limit 1: quantity: found "stiffness", want "drop" or "decay_rate" or "settling" or "leak_rate" or "leak_rate_at_test_pressure" or "leak_flow" or "pressure_end" or "pressure_after" or "time_constant" or "other_circuit_rise"`}},
		{"unit of another quantity", []string{`"0.5 bar/min"`, `"0.5 bar"`}, []string{
			`p.toml:24: limit 1: max: found "0.5 bar", a pressure, want a pressure rate in Pa/s, bar/min and the like, e.g. "0.5 bar/min"`}},
		{"share of the test pressure", []string{`"0.5 bar/min"`, `"0.5 %"`, `min = "90 bar"`, `min = "0 %"`}, []string{
			`p.toml:24: limit 1: max: found "0.5 %", want per cent of the test pressure, e.g. "0.2 %/min"`,
			`p.toml:27: limit 2: min: found "0 %", want a share above zero`}},
		{"share of what has no test pressure", []string{`quantity = "decay_rate"`, `quantity = "leak_flow"`, `"0.5 bar/min"`, `"0.5 %"`}, []string{
			`p.toml:24: limit 1: max: found "0.5 %", want a volume flow in m³/s, mL/min and the like, e.g. "0.3 mL/min"`}},
		{"limit of nothing", []string{`"0.5 bar/min"`, `"0 bar/min"`}, []string{
			`p.toml:24: limit 1: max: found "0 bar/min", want a pressure rate with unit, above zero, e.g. "0.5 bar/min"`}},
		{"no bound", []string{`max = "0.5 bar/min"`, ``}, []string{
			`p.toml:22: limit 1: max: found nothing, want a pressure rate with unit, above zero, e.g. "0.5 bar/min"`}},
		{"both bounds", []string{`max = "0.5 bar/min"`, "max = \"0.5 bar/min\"\nmin = \"0.1 bar/min\""}, []string{
			`p.toml:25: limit 1: min: found "0.1 bar/min", want no such key here (max says it already; write a second [[limit]] for the other bound)`}},
		{"rule", []string{`rule = "simple"`, `rule = "strict"`}, []string{
			`p.toml:29: limit 2: rule: found "strict", want "guarded" or "simple"`,
			`p.toml:30: limit 2: u_max: found "0.5 bar", want no such key here (only beside rule = "simple")`}},
		{"u_max missing", []string{`u_max = "0.5 bar"`, ``}, []string{
			`p.toml:25: limit 2: u_max: found nothing, want a pressure change with unit, above zero, e.g. "2 bar"`}},
		{"u_max of the guarded rule", []string{`rule = "simple"`, ``}, []string{
			`p.toml:30: limit 2: u_max: found "0.5 bar", want no such key here (only beside rule = "simple")`}},
		{"risks", []string{`max = "0.5 bar/min"`, "max = \"0.5 bar/min\"\nrisk_pass = 0\nrisk_fail = 0.6"}, []string{
			`p.toml:25: limit 1: risk_pass: found 0, want a number above 0 and at most 0.5, e.g. 0.05`,
			`p.toml:26: limit 1: risk_fail: found 0.6, want a number above 0 and at most 0.5, e.g. 0.05`}},
		{"risks no numbers", []string{`max = "0.5 bar/min"`, "max = \"0.5 bar/min\"\nrisk_pass = \"5 %\"\nrisk_fail = nan"}, []string{
			`p.toml:25: limit 1: risk_pass: found "5 %", want a number above 0 and at most 0.5, e.g. 0.05`,
			`p.toml:26: limit 1: risk_fail: found nan, want a number above 0 and at most 0.5, e.g. 0.05`}},
		{"risk of the simple rule", []string{`rule = "simple"`, "rule = \"simple\"\nrisk_pass = 0.05"}, []string{
			`p.toml:30: limit 2: risk_pass: found 0.05, want no such key here (the simple rule has no guard band)`}},
		{"after missing", []string{`after = "10 min"`, ``}, []string{
			`p.toml:25: limit 2: after: found nothing, want a time with unit, above zero, e.g. "5 min"`}},
		{"after of another quantity", []string{`max = "0.5 bar/min"`, "max = \"0.5 bar/min\"\nafter = \"10 min\""}, []string{
			`p.toml:25: limit 1: after: found "10 min", want no such key here (pressure_after only)`}},
		{"end pressure that no start reaches", []string{`min = "90 bar"`, `min = "110 bar"`}, []string{
			`p.toml:27: limit 2: min: found "110 bar", want a pressure not above the start window`}},
		{"drop beyond the start", []string{"quantity = \"decay_rate\"\nmax = \"0.5 bar/min\"", "quantity = \"drop\"\nmax = \"200 bar\""}, []string{
			`p.toml:24: limit 1: max: found "200 bar", want a loss not above the pressure that is there`}},
		{"twice", []string{`rule = "simple"`, "rule = \"simple\"\n[[limit]]\nquantity = \"decay_rate\"\nmax = \"0.2 bar/min\"\nrule = \"simple\"", `u_max = "0.5 bar"`, `u_max = "0.05 bar/min"`}, []string{
			`p.toml:25: limit 2: u_max: found nothing, want a pressure change with unit, above zero, e.g. "2 bar"`,
			`p.toml:30: limit 3: found a second max for decay_rate, want one`}},
		{"no source", []string{`source = "invented"`, ``}, []string{
			`p.toml:22: limit 1: source: found nothing, want who set this limit, here or once for all as the procedure's source`,
			`p.toml:25: limit 2: source: found nothing, want who set this limit, here or once for all as the procedure's source`}},
		{"no limits", []string{"[[limit]]\nquantity = \"decay_rate\"\nmax = \"0.5 bar/min\"\n[[limit]]\nquantity = \"pressure_after\"\nmin = \"90 bar\"\nafter = \"10 min\"\nrule = \"simple\"\nu_max = \"0.5 bar\"\n", ""}, []string{
			`p.toml:1: limit: found nothing, want at least one table [[limit]]`}},
		{"several at once, in the order of their lines", []string{`min = "90 bar"`, `min = 90`, `"130 bar"`, `"130"`, `duration = "60 s"`, `duratoin = "60 s"`}, []string{
			`p.toml:9: maximum_pressure: found 130, want a pressure with unit, e.g. "130 bar"`,
			`p.toml:15: phase: stabilise: found no end, want end = "operator" or a duration, e.g. duration = "60 s"`,
			`p.toml:16: phase: stabilise: duratoin: found an unknown key, want "duration"?`,
			`p.toml:27: limit 2: min: found 90, want a pressure with unit, e.g. "90 bar"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := procedure.Parse("p.toml", []byte(broken(t, small, c.edits...)))
			assert.Equal(t, c.want, lines(err))
			assert.Equal(t, err == nil, p != nil)
			var fault *strict.Error
			assert.Equal(t, err != nil, errors.As(err, &fault))
		})
	}
}
