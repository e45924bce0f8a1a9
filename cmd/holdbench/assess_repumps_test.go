package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A unit that is pumped up again and again, in a bare pressure record: the
// segments are found, said, and judged by their one slope; and an absolute
// record's air pressure is in doubt as an offset only.
func TestAssessFindsTheSegmentsOfAUnitThatPumpsItselfUp(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 79))
	var b strings.Builder
	b.WriteString("time [s],pressure [bar(a)],temperature [degC]\n")
	p := 0.0
	pumping := true
	for at := 0; at <= 7200; at += 2 {
		switch {
		case at < 60:
		case pumping:
			p = min(p+10, 100)
			pumping = p < 100
		default:
			p -= 2 * 0.3 / 60
			pumping = p < 95
		}
		fmt.Fprintf(&b, "%d,%.4f,%.3f\n", at, p+1.01325+0.005*random.NormFloat64(), 20+0.005*random.NormFloat64())
	}
	path := filepath.Join(t.TempDir(), "powered.csv")
	require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o666))
	out, said, code := assessed(t, path, "--limit", "decay_rate 0.5 bar/min", "--thermal-coefficient", "4.5 ± 0.3 bar/K", "--json", "-",
		"--transducer", "accuracy=0.1 bar,resolution=0.0001 bar")
	r := one(t, out)
	require.Equal(t, exitPass, code, string(said))
	hold := r.Circuits[0].Tests[0]
	assert.Contains(t, hold.Found.How, "re-pumped")
	course := hold.Diagnostics.Course
	require.NotNil(t, course)
	assert.Greater(t, course.Segments, 4)
	assert.Equal(t, course.Segments-1, course.Repumps)
	rate := hold.Estimates["decay_rate"]
	assert.LessOrEqual(t, *rate.Low, 0.3e5/60)
	assert.GreaterOrEqual(t, *rate.High, 0.3e5/60)
	assert.InEpsilon(t, 0.3e5/60, *course.RepumpRate, 0.02)
	for _, line := range rate.Budget {
		assert.NotEqual(t, "transducer offset", line.Source, "an offset moves no rate")
	}
	assert.NotEmpty(t, hold.Estimates["pressure_end"].Reason)
}
