package verdict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseReadsLimitsAsWritten(t *testing.T) {
	for text, want := range map[string]Limit{
		"decay_rate 0.6 bar/min":             {Quantity: "decay_rate", Bound: Max, Value: 1000, Written: "0.6 bar/min"},
		"decay_rate max 0.6 bar/min":         {Quantity: "decay_rate", Bound: Max, Value: 1000, Written: "0.6 bar/min"},
		"drop  2 bar":                        {Quantity: "drop", Bound: Max, Value: 2e5, Written: "2 bar"},
		"pressure_end min 95 bar":            {Quantity: "pressure_end", Bound: Min, Value: 95e5, Written: "95 bar"},
		"pressure_end 95bar":                 {Quantity: "pressure_end", Bound: Min, Value: 95e5, Written: "95bar"},
		"pressure_end max 95 bar":            {Quantity: "pressure_end", Bound: Max, Value: 95e5, Written: "95 bar"},
		"pressure_after 10 min 95 bar":       {Quantity: "pressure_after", Bound: Min, Value: 95e5, After: 600, Written: "95 bar"},
		"pressure_after 10 min min 95 bar":   {Quantity: "pressure_after", Bound: Min, Value: 95e5, After: 600, Written: "95 bar"},
		"pressure_after 2h min 95 bar":       {Quantity: "pressure_after", Bound: Min, Value: 95e5, After: 7200, Written: "95 bar"},
		"drop 2 %":                           {Quantity: "drop", Bound: Max, Value: 2e5, Written: "2 % of the test pressure, 2.00 bar"},
		"decay_rate 0.5 %/min":               {Quantity: "decay_rate", Bound: Max, Value: 0.5e5 / 60, Written: "0.5 %/min of the test pressure, 0.500 bar/min"},
		"pressure_end min 95 %":              {Quantity: "pressure_end", Bound: Min, Value: 95e5, Written: "95 % of the test pressure, 95.0 bar"},
		"time_constant 1 h":                  {Quantity: "time_constant", Bound: Min, Value: 3600, Written: "1 h"},
		"leak_flow 0.06 mL/min":              {Quantity: "leak_flow", Bound: Max, Value: 1e-9, Written: "0.06 mL/min"},
		"leak_rate_at_test_pressure 60 Pa/s": {Quantity: "leak_rate_at_test_pressure", Bound: Max, Value: 60, Written: "60 Pa/s"},
	} {
		t.Run(text, func(t *testing.T) {
			l, err := Parse(text, 100e5)
			require.NoError(t, err)
			want.RiskPass, want.RiskFail = 0.05, 0.05
			assert.InEpsilon(t, want.Value, l.Value, 1e-12)
			l.Value = want.Value
			assert.Equal(t, want, l)
		})
	}
}

func TestParseSaysWhatIsWrong(t *testing.T) {
	for text, want := range map[string]string{
		"":                          "want a limit, e.g.",
		"leak 1 bar":                `found quantity "leak", want one of drop, decay_rate`,
		"decay_rate":                "want a pressure rate with unit",
		"decay_rate 0.2":            "want a pressure rate with unit",
		"decay_rate 0.2 bar":        `found "0.2 bar", a pressure,`,
		"decay_rate -0.2 bar/min":   "want a value above 0",
		"decay_rate 0 bar/min":      "want a value above 0",
		"drop 2 %/min":              `found "2 %/min", want per cent of the test pressure, e.g. "2 %"`,
		"leak_flow 2 %":             "want a volume flow",
		"time_constant 5 %":         "want a time",
		"pressure_after":            "want a time with unit",
		"pressure_after 95 bar":     "time after the hold's start",
		"pressure_after 10 min":     "want a pressure with unit",
		"pressure_after 0 s 95 bar": "the time after the hold's start",
	} {
		t.Run(text, func(t *testing.T) {
			_, err := Parse(text, 100e5)
			assert.ErrorContains(t, err, want)
		})
	}
}

func TestAShareNeedsATestPressure(t *testing.T) {
	for _, none := range []float64{0, math.NaN(), -1} {
		_, err := Parse("drop 2 %", none)
		assert.EqualError(t, err, `limit "drop 2 %": found "2 %", want a test pressure of which it is a share`)
	}
}

func TestCheckFindsImpossibleLimits(t *testing.T) {
	good := Limit{Quantity: "decay_rate", Value: 100, RiskPass: 0.05, RiskFail: 0.05}
	require.NoError(t, good.Check())
	for want, spoil := range map[string]func(l *Limit){
		"want one of":                    func(l *Limit) { l.Quantity = "leak" },
		"want risks above 0":             func(l *Limit) { l.RiskFail = 0.7 },
		"want an expanded uncertainty":   func(l *Limit) { l.UMax = -1 },
		"want none: only pressure_after": func(l *Limit) { l.After = 5 },
		"want a stated U_max":            func(l *Limit) { l.Quantity, l.Rule = "pressure_end", Simple },
		"the time after the hold":        func(l *Limit) { l.Quantity = "pressure_after" },
	} {
		l := good
		spoil(&l)
		assert.ErrorContains(t, l.Check(), want)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"decay_rate 0.2 bar/min", "pressure_after 10 min min 95 bar", "drop 1e999 bar", "time_constant min 5 h", "pressure_after 5 s"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := Parse(text, 100e5)
		if err != nil {
			return
		}
		if l.Check() != nil {
			t.Fatalf("%q parses to a limit that does not check", text)
		}
	})
}
