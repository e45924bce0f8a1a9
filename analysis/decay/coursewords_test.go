package decay

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What the course of a hold speaks for, in words.
func TestCourseInWords(t *testing.T) {
	t.Parallel()
	line := func(rate float64) func(t float64) float64 { return func(t float64) float64 { return rate / 60 * t } }
	sum := func(all ...func(t float64) float64) func(t float64) float64 {
		return func(t float64) (s float64) {
			for _, f := range all {
				s += f(t)
			}
			return s
		}
	}
	cooling := func(in *Input, rate float64) {
		still := white(77, 0.01)
		in.Temperature = sampled(0, 600, 0.5, func(t float64) float64 { return 298 - rate*t + still() })
		for i, t := range in.Pressure.Time {
			in.Pressure.Value[i] -= 4.5 * bar * rate * t
		}
		in.Known.ThermalCoefficient = exactly(4.5*bar, 0.05*bar)
	}
	for name, c := range map[string]struct {
		fall   func(t float64) float64
		change func(in *Input)
		want   string
	}{
		"nothing":             {line(0), nil, `^no loss is seen beside what temperature explains; one of up to 0\.\d+ bar/min is not excluded$`},
		"steady":              {line(0.3), nil, "^the loss goes on as steadily as a leak does$"},
		"orifice or laminar":  {dying(100, 3000), nil, `^the loss slows as that of a leak does that goes by the pressure: exponential$`},
		"settling, no leak":   {dying(2, 60), func(in *Input) { in.Locked = -60 }, `^the rest slows as settling does; a leak of up to 0\.0\d+ bar/min is not excluded$`},
		"settling and a leak": {sum(dying(2, 60), line(0.3)), func(in *Input) { in.Locked = -60 }, `^the rest slows as settling does; a leak remains beside it, of up to 0\.3\d* bar/min$`},
		"slow settling":       {dying(2, 400), nil, `^the rest slows as settling does; a leak of up to 0\.1\d+ bar/min is not excluded$`},
		"opens":               {func(t float64) float64 { return 1.0 / 60 * math.Max(0, t-300) }, nil, `^the loss grows once the pressure has fallen below (99\.9\d|100\.0\d) bar$`},
		"comes and goes":      {func(t float64) float64 { return 2.0 / 60 * math.Min(math.Max(0, t-200), 100) }, nil, "^the loss comes and goes$"},
		"cooling":             {line(0.03), func(in *Input) { cooling(in, 1e-3) }, `^temperature explains 9\d % of the fall; `},
		"rise":                {line(-0.3), nil, "^beside what temperature explains the pressure rises$"},
	} {
		t.Run(name, func(t *testing.T) {
			in := unsettled(1, 600, c.fall)
			if c.change != nil {
				c.change(&in)
			}
			assert.Regexp(t, c.want, strings.Join(Fit(in, Options{}).Diagnostics.Words, "; "))
		})
	}
}

// On noise nothing is said: neither of a settling nor of a loss that comes and
// goes, nor is a bound below the leak that is there.
func TestWordsSayNothingOnNoise(t *testing.T) {
	t.Parallel()
	wrong := 0
	const seeds = 100
	for seed := range uint64(seeds) {
		leak := 0.01 * rand.New(rand.NewPCG(seed, 8)).Float64()
		in := unsettled(seed, 300, func(t float64) float64 { return leak / 60 * t })
		for _, text := range Fit(in, Options{}).Diagnostics.Words {
			if strings.Contains(text, "settling") || strings.Contains(text, "comes") || strings.Contains(text, "grows") || strings.Contains(text, "neither") || strings.Contains(text, "temperature explains 1") {
				wrong++
			}
		}
	}
	assert.LessOrEqual(t, wrong, 5)
}

func TestUpToIsRoundedUp(t *testing.T) {
	of := func(perMinute float64) string {
		q := estimated(perMinute*bar/60, quantities["decay_rate"], nil)
		q.DegreesOfFreedom = math.Inf(1)
		return upTo(q)
	}
	assert.Equal(t, "0.031 bar/min", of(0.03001))
	assert.Equal(t, "0.030 bar/min", of(0.03))
	assert.Equal(t, "1.3 bar/min", of(1.23))
	assert.Equal(t, "13 bar/min", of(12.3))
	assert.Equal(t, "0.00 bar/min", of(-1))
}
