package result

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis"
	"holdbench/analysis/series"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
)

// checked is a run with a zero check whose readings are those of soaked: zeros
// read from 5 s to 15 s and from 7620 s to 7650 s.
func checked(before, after float64) (*Run, analysis.Hold) {
	r, h := soaked(before, after)
	r.Procedure.Zero = &procedure.ZeroRule{Tolerance: 0.5e5, Duration: 10 * time.Second}
	r.Procedure.Circuits = []string{"a"}
	r.Position = bench.Position{Circuits: []bench.Circuit{{Name: "a", Trapped: "trapped", FeedUnmeasured: true}}}
	h.Trapped.Name = "trapped"
	r.Series = series.Series{Columns: []series.Column{h.Trapped}}
	zero := func(from, to float64) daq.Event {
		return daq.Event{At: seconds(from), Until: seconds(to), Kind: daq.ZeroRead, Circuit: "a", Subject: "trapped"}
	}
	events := []daq.Event{{Kind: daq.PhaseBegins, Subject: string(procedure.ZeroCheck)}, zero(5, 15)}
	r.Recording.Events = append(append(events, r.Recording.Events...), zero(7620, 7650))
	return r, h
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

func TestZeroChecksAreReadFromTheReadings(t *testing.T) {
	r, _ := checked(2000, 62000)
	all := zeroChecks(r)
	require.Len(t, all, 2)
	assert.Equal(t, ZeroBefore, all[0].When)
	assert.Equal(t, ZeroAfter, all[1].When)
	assert.Equal(t, 20, all[0].Readings, "the reading at the beginning itself is not among them")
	assert.Equal(t, 60, all[1].Readings)
	assert.InDelta(t, 2000, *all[0].Mean, 4*500/math.Sqrt(20))
	assert.InDelta(t, 62000, *all[1].Mean, 4*500/math.Sqrt(60))
	assert.InDelta(t, 500, *all[1].SD, 150)
	assert.True(t, all[0].Within)
	assert.False(t, all[1].Within)

	res := &Result{Completed: true, ZeroChecks: all}
	reasons := res.zeroReasons(r)
	require.Len(t, reasons, 1)
	assert.Regexp(t, `^zero of trapped after the test is outside its tolerance: it read 0\.6[12]\d bar where 0 ± 0\.500 bar is wanted$`, reasons[0])
	res.ZeroChecks = nil
	assert.Equal(t, []string{"zero of trapped before the test not checked: it was not read", "zero of trapped after the test not checked: it was not read"}, res.zeroReasons(r))
	r.Procedure.Zero = nil
	assert.Nil(t, zeroChecks(r), "nobody asked")
}

func TestAShiftedZeroIsDriftOfTheHold(t *testing.T) {
	r, h := checked(2000, 9000)
	r.takeZeros(&h, "trapped")
	require.NotNil(t, h.Zeros, "a long hold has the shift taken off")
	assert.InDelta(t, 10, h.Zeros.Before.At, 0.3)
	assert.Zero(t, h.Transducer.Drift)

	r, h = checked(2000, 9000)
	h.Start = 7200 // a short one
	r.takeZeros(&h, "trapped")
	assert.Nil(t, h.Zeros)
	assert.InDelta(t, 7000/math.Sqrt(3)/300, h.Transducer.Drift, 0.15*7000/math.Sqrt(3)/300, "all of it may have come within the hold")

	r, h = checked(2000, 9000)
	h.Start, h.Transducer.Drift = 7200, 100
	r.takeZeros(&h, "trapped")
	assert.Equal(t, 100.0, h.Transducer.Drift, "what is stated is more")

	r, h = checked(2000, 9000)
	h.Start = 7200
	r.Recording.Events = r.Recording.Events[:len(r.Recording.Events)-1]
	r.takeZeros(&h, "trapped")
	assert.Zero(t, h.Transducer.Drift, "not read after the test: nothing is known")
}

// What a transducer does after the release is no reason to know nothing of it:
// a zero that still moves counts, and so does one of few readings.
func TestAZeroThatStillMovesCounts(t *testing.T) {
	for _, hold := range []float64{300, 7200} {
		r, h := checked(2000, 9000)
		h.Start = h.End - hold
		for i, at := range h.Trapped.Time {
			if at > 7600 {
				h.Trapped.Value[i] += 20000 * math.Exp(-(at-7600)/30)
			}
		}
		after := *lastZero(zeroChecks(r), "trapped", ZeroAfter).Mean
		r.takeZeros(&h, "trapped")
		assert.Nil(t, h.Zeros)
		assert.Greater(t, h.Transducer.Drift, 0.95*(after-2000)/math.Sqrt(3)/hold)
	}

	r, h := checked(2000, 9000)
	h.Start = 7200
	r.Recording.Events[len(r.Recording.Events)-1].Until = seconds(7622)
	r.takeZeros(&h, "trapped")
	assert.Greater(t, h.Transducer.Drift, 0.8*7000/math.Sqrt(3)/300, "four readings")
}
