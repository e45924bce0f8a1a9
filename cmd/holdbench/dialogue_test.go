package main

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A person has the question before them: what was wrong with an answer is said
// without the flag that would have answered it.
func TestAPersonIsAskedAgainInPlainWords(t *testing.T) {
	q := question{flag: "--channel", key: "quantity", text: "  What it measures", check: func(s string) error {
		if s != "pressure" {
			return errors.New("found it wanting, want pressure")
		}
		return nil
	}}
	var out bytes.Buffer
	answer, err := newDialogue(strings.NewReader("\nweight\npressure\n"), &out, false, true).ask(q)
	require.NoError(t, err)
	assert.Equal(t, "pressure", answer)
	assert.Contains(t, out.String(), "  found nothing, want an answer to: What it measures\n")
	assert.Contains(t, out.String(), "  found it wanting, want pressure\n")
	assert.NotContains(t, out.String(), "--channel")

	_, err = newDialogue(strings.NewReader("weight\n"), &out, false, false).ask(q)
	assert.EqualError(t, err, "--channel: quantity: found it wanting, want pressure", "a script is told which flag")
}

// A port that cannot be opened is asked for again, so that what was answered
// before is not lost.
func TestAPersonMayNameAnotherPort(t *testing.T) {
	var out bytes.Buffer
	nowhere := t.TempDir() + "/nowhere"
	b := &newBench{dialogue: newDialogue(strings.NewReader(nowhere+"\n"+nowhere+"\n"), &out, false, true), cmd: &cobra.Command{}, flags: benchNewFlags{listen: 0.1}}
	_, err := b.port(t.Context(), 0)
	assert.ErrorContains(t, err, "no answer", "the answers ended, not the dialogue")
	assert.Equal(t, 2, strings.Count(strings.Join(strings.Fields(out.String()), " "), "no such port"), out.String())

	b = &newBench{dialogue: newDialogue(strings.NewReader(""), &out, false, true), cmd: &cobra.Command{}, flags: benchNewFlags{listen: 0.1, ports: []string{nowhere}}}
	_, err = b.port(t.Context(), 0)
	assert.ErrorContains(t, err, "no such port", "what a flag says is not asked again")
}
