package procedure_test

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/verdict"
	"holdbench/daq/procedure"
	"holdbench/daq/strict"
)

func TestExampleFileLoads(t *testing.T) {
	text, err := os.ReadFile("testdata/hv-1.toml")
	require.NoError(t, err)
	p, err := procedure.Load("testdata/hv-1.toml")
	require.NoError(t, err)
	assert.Equal(t, string(text), p.Text)
	assert.Equal(t, strict.Hash(text), p.Hash)
	assert.Equal(t, []float64{100e5, 95e5, 105e5, 130e5, 2e5, 3e5},
		[]float64{p.TestPressure, p.StartLow, p.StartHigh, p.MaxPressure, p.SafePressure, p.FeedBelow})
	assert.Equal(t, []string{"a"}, p.Circuits)
	assert.InDelta(t, 0.3, p.TemperatureSwing, 1e-12)
	require.Len(t, p.Limits, 2)
	assert.InEpsilon(t, 0.5e5/60, p.Limits[0].Value, 1e-12)
	p.Limits[0].Value = 0
	assert.Equal(t, verdict.Limit{Quantity: "decay_rate", RiskPass: 0.05, RiskFail: 0.05,
		Source: "invented for the demonstration", Written: "0.5 bar/min"}, p.Limits[0])
	assert.Equal(t, verdict.Limit{Quantity: "pressure_after", Bound: verdict.Min, Value: 90e5, Rule: verdict.Simple,
		RiskPass: 0.05, RiskFail: 0.05, UMax: 0.5e5, After: 600, Source: "invented, for this file only", Written: "90 bar"}, p.Limits[1])

	_, err = procedure.Load("testdata/none.toml")
	assert.EqualError(t, err, "testdata/none.toml: found no such file, want a procedure file")
}

func TestStepsGoFromFillToReleaseInOrder(t *testing.T) {
	p, err := procedure.Parse("p.toml", []byte(small))
	require.NoError(t, err)
	var phases []procedure.Phase
	for _, s := range p.Steps {
		phases = append(phases, s.Phase)
		assert.NotEmpty(t, s.Prompt)
		assert.NotContains(t, s.Prompt, "{", "a place that was not filled")
		assert.Equal(t, s.ByOperator, s.Phase != procedure.Hold && s.Phase != procedure.Stabilise)
	}
	assert.Equal(t, procedure.Phases[:7], phases)
	hold, ok := p.Step(procedure.Hold)
	assert.True(t, ok)
	assert.Equal(t, 5*time.Minute, hold.Duration)
	release, _ := p.Step(procedure.Release)
	assert.Equal(t, 10*time.Minute, release.Timeout)

	p, err = procedure.Parse("p.toml", []byte(broken(t, small, "[phase.stabilise]\nduration = \"60 s\"\n", "[phase.lock]\nduration = \"0 s\"\n")))
	require.NoError(t, err)
	stabilise, _ := p.Step(procedure.Stabilise)
	assert.Zero(t, stabilise.Duration, "a phase that is not stated takes no time")
	lock, _ := p.Step(procedure.Lock)
	assert.False(t, lock.ByOperator)
}

func TestDefaultPromptsCaution(t *testing.T) {
	p, err := procedure.Parse("p.toml", []byte(broken(t, small, `circuits = ["a"]`, `circuits = ["a", "b"]`)))
	require.NoError(t, err)
	prompt := func(ph procedure.Phase) string {
		s, _ := p.Step(ph)
		return s.Prompt
	}
	assert.Contains(t, prompt(procedure.Fill), "eye protection")
	assert.Contains(t, prompt(procedure.Fill), "Fill with oil, no other liquid")
	assert.Contains(t, prompt(procedure.Fill), "circuits a and b of the HV-1")
	assert.Contains(t, prompt(procedure.Pressurise), "to 100 bar")
	assert.Contains(t, strings.ToLower(prompt(procedure.Pressurise)), "never tighten or loosen a fitting under pressure")
	assert.Contains(t, prompt(procedure.Release), "never loosen a fitting under pressure")
	assert.Contains(t, prompt(procedure.Release), "Treat the unit as pressurised until vented is shown")
}

func TestToleranceIsAWindowAroundTheTestPressure(t *testing.T) {
	p, err := procedure.Parse("p.toml", []byte(broken(t, small, `start_window = ["95 bar", "105 bar"]`, `tolerance = "4 bar"`)))
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{96e5, 104e5}, []float64{p.StartLow, p.StartHigh}, 1e-6)
}

// Every quantity of the one table can be limited, under both rules, in its SI
// unit; save those that describe the bench.
func TestEveryQuantityOfTheUnitCanBeLimited(t *testing.T) {
	head, _, _ := strings.Cut(small, "[[limit]]")
	for _, q := range verdict.Quantities {
		unit := q.Quantity.SI().Symbol
		text := fmt.Sprintf("%s[[limit]]\nquantity = %q\n%s = \"2 %s\"\nrule = \"simple\"\nu_max = \"1 %s\"\n", head, q.Name, q.Default, unit, unit)
		if q.Name == "pressure_after" {
			text += "after = \"1 h\"\n"
		}
		p, err := procedure.Parse("p.toml", []byte(text))
		if q.Name == "thermal_coefficient" || q.Name == "stiffness" {
			assert.Error(t, err)
			continue
		}
		require.NoError(t, err, q.Name)
		assert.Equal(t, 2.0, p.Limits[0].Value)
		assert.Equal(t, 1.0, p.Limits[0].UMax)
		assert.Equal(t, q.Default, p.Limits[0].Bound)
	}
}

func TestSerialNumberIsHeldAgainstThePattern(t *testing.T) {
	p, err := procedure.Parse("p.toml", []byte(small))
	require.NoError(t, err)
	assert.NoError(t, p.CheckSerial("HV1-00017"))
	assert.EqualError(t, p.CheckSerial("HV1-17"), `serial number: found "HV1-17", want one that matches HV1-[0-9]{5}`)
	assert.EqualError(t, p.CheckSerial(""), `serial number: found nothing, want the unit's serial number`)
}

func FuzzParse(f *testing.F) {
	f.Add(small)
	f.Add("")
	f.Add(small[:200])
	f.Fuzz(func(t *testing.T, text string) {
		p, err := procedure.Parse("p.toml", []byte(text))
		if err != nil {
			assert.Nil(t, p)
			return
		}
		assert.Len(t, p.Steps, 7)
		assert.True(t, p.SafePressure < p.StartLow && p.StartHigh < p.MaxPressure)
		_ = p.CheckSerial(text)
	})
}
