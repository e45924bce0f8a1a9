package main

import (
	"bytes"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/vbauerster/mpb/v8"

	"holdbench/analysis/si"
	"holdbench/daq/procedure"
	"holdbench/daq/sequence"
)

// screen is a writer that may be read while it is written.
type screen struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (s *screen) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(b)
}

func (s *screen) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// holding is a status within a hold of 300 s that began at clock time 50 s.
func holding(elapsed time.Duration) sequence.Status {
	return sequence.Status{At: 50*time.Second + elapsed, Phase: procedure.Hold, Elapsed: elapsed, Timed: true, Remaining: 300*time.Second - elapsed,
		Circuits: []sequence.CircuitStatus{{Name: "a", Tested: true, Trapped: 99.834e5, Feed: 0.1e5, Temperature: 293.27}},
		Vent:     sequence.VentStatus{State: sequence.TreatAsPressurised}}
}

func TestPanelWritesPlainLinesWhereThereIsNoTerminal(t *testing.T) {
	var out screen
	p := newPanel(&out, si.DefaultDisplay, false)
	p.Prompt(sequence.Prompt{Text: "Hold: leave the unit alone. (5:00)"})
	for tenth := range 121 { // 12 s, ten statuses a second
		p.Status(holding(time.Duration(tenth) * 100 * time.Millisecond))
	}
	p.Prompt(sequence.Prompt{Wants: sequence.GoOn, Text: "Release the pressure of circuit a. Then press Enter."})
	p.Status(sequence.Status{At: 63 * time.Second, Phase: procedure.Release})
	p.Message("PASS\nleak below the limit\n")
	p.close(sequence.Outcome{Vented: sequence.Vented, Reason: "measured and confirmed"})
	require.Equal(t, `  Hold: leave the unit alone. (5:00)
hold 0:00, 5:00 left  a 99.83 bar, feed 0.1 bar, 20.12 °C  TRAPPED PRESSURE: TREAT AS PRESSURISED
hold 0:05, 4:55 left  a 99.83 bar, feed 0.1 bar, 20.12 °C  TRAPPED PRESSURE: TREAT AS PRESSURISED
hold 0:10, 4:50 left  a 99.83 bar, feed 0.1 bar, 20.12 °C  TRAPPED PRESSURE: TREAT AS PRESSURISED
> Release the pressure of circuit a. Then press Enter.
release 0:00    TRAPPED PRESSURE: TREAT AS PRESSURISED
  PASS
  leak below the limit
VENTED: measured and confirmed
`, out.String())
}

func TestPanelEndsWithTheBannerWhenVentedWasNotShown(t *testing.T) {
	var out screen
	newPanel(&out, si.DefaultDisplay, false).close(sequence.Outcome{Vented: sequence.TreatAsPressurised, Reason: "left during hold"})
	require.Equal(t, banner+": left during hold\n", out.String())
}

func TestPanelShowsDisplayUnits(t *testing.T) {
	display, err := si.ParseDisplay("psi", "°F")
	require.NoError(t, err)
	p := newPanel(&screen{}, display, false)
	require.Equal(t, "a 1448.0 psi, feed 1 psi, 68.22 °F", p.readings(holding(0)))
}

func TestPanelDrawsABarOnATerminal(t *testing.T) {
	var out screen
	p := &panel{w: &out, display: si.DefaultDisplay}
	p.startBar(mpb.WithOutput(&out), mpb.ForceTTY(), mpb.WithAutoRefresh(), mpb.WithWidth(110), mpb.WithRefreshRate(10*time.Millisecond))
	p.Status(holding(75 * time.Second))
	p.Message("a line above the bar")
	require.Eventually(t, func() bool { return strings.Contains(out.String(), "hold 1:15") }, 5*time.Second, 5*time.Millisecond)
	p.close(sequence.Outcome{Vented: sequence.Overridden, Reason: "gauge reads zero"})
	text := out.String()
	for _, want := range []string{"hold 1:15", "] 3:45 left", "a 99.83 bar, feed 0.1 bar, 20.12 °C", banner, "a line above the bar", "OVERRIDDEN: gauge reads zero"} {
		require.Contains(t, text, want)
	}
	p.Status(holding(76 * time.Second)) // after the close nothing is left to move
}

func TestBarFollowsATimedPhase(t *testing.T) {
	require.EqualValues(t, 250, barAt(holding(75*time.Second)))
	require.EqualValues(t, barSteps-1, barAt(holding(300*time.Second)), "a full bar would end")
	require.Zero(t, barAt(sequence.Status{Elapsed: time.Minute}), "the operator ends the phase")
}

func TestReadAnswers(t *testing.T) {
	var answers []sequence.Answer
	var said []string
	err := readAnswers(strings.NewReader("\n?\nyes\nabort hose burst\nvented"),
		func(a sequence.Answer) { answers = append(answers, a) }, func(s string) { said = append(said, s) })
	require.NoError(t, err)
	require.Equal(t, []sequence.Answer{{Kind: sequence.GoOn}, {Kind: sequence.AbortTest, Text: "hose burst"}, {Kind: sequence.ConfirmVented}}, answers)
	require.Len(t, said, 2)
	require.Equal(t, sequence.Spoken, said[0])
	require.Contains(t, said[1], `"yes" is no answer`)
}

func TestLongLinesBreakBetweenWords(t *testing.T) {
	text := "> Release the trapped pressure slowly through the valve that is meant for it."
	for _, width := range []int{20, 30, 60} {
		broken := wrapped(text, width)
		for row := range strings.Lines(broken) {
			require.Less(t, len(strings.TrimRight(row, "\n")), width)
		}
		require.Equal(t, strings.Fields(text), strings.Fields(broken))
	}
	require.Equal(t, "  █   █", wrapped("  █   █", 80), "what fits stays as it is")
}

func TestPanelBreaksLinesAtTheTerminalsWidth(t *testing.T) {
	var out screen
	p := newPanel(&out, si.DefaultDisplay, false)
	p.width = 40
	p.Prompt(sequence.Prompt{Wants: sequence.GoOn, Text: "Release the trapped pressure slowly through the valve that is meant for it."})
	require.Greater(t, strings.Count(out.String(), "\n"), 1)
	for row := range strings.Lines(out.String()) {
		require.Less(t, len(strings.TrimRight(row, "\n")), 40)
	}
}

// A hold that is looked at says how long it may go on, not what is left of its
// own length alone.
func TestRemainingOfAHoldWithLooks(t *testing.T) {
	of := func(elapsed, until, longest time.Duration) string {
		return remainingText(sequence.Status{
			Timed: true, Elapsed: elapsed, Remaining: max(until, longest) - elapsed, Until: until, Longest: longest,
		})
	}
	require.Equal(t, "looks until 5:00, may go on to 15:00", of(45*time.Second, 5*time.Minute, 15*time.Minute))
	require.Equal(t, "goes on, to 15:00 at most", of(6*time.Minute, 5*time.Minute, 15*time.Minute))
	require.Equal(t, "looks until 5:00", of(45*time.Second, 5*time.Minute, 5*time.Minute))
	require.Equal(t, "4:15 left", remainingText(sequence.Status{Timed: true, Remaining: 255 * time.Second}))
}
